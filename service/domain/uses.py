"""The uses that a fold has told so far, those that may still turn out otherwise among them."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import datetime

from msgspec.structs import replace

from service.domain.intervals import Interval
from service.domain.kinds.worn import Worn
from service.domain.unit import Unit
from service.domain.wearing import Use


def against(interval: Interval) -> tuple[str, ...]:
    """Name what forbids the use of a unit, but for uses outside the cover of a check: those are told by themselves."""
    if not interval.do_not_use:
        return ()
    return tuple(reason for reason in interval.reasons if reason != "used-without-check")


class Uses:
    """The uses told so far. One that is a wearing may still come to lack cover within it (R17, R18)."""

    def __init__(self, told: Sequence[Use]) -> None:
        self.made = list(told)
        self._wearings = {use.ref: nth for nth, use in enumerate(told) if use.worn and use.lapse is None}

    def add(self, uses: Iterable[Use], intervals: Sequence[Interval]) -> None:
        """Add uses counted by the calendar in a stretch of time of these intervals."""
        for use in uses:
            forbidden = against(next(one for one in reversed(intervals) if one.since <= use.at))
            self.made.append(replace(use, forbidden=forbidden) if forbidden else use)

    def wear(self, unit: Unit, event: Worn, at: datetime, forbidden: tuple[str, ...]) -> None:
        """Add a wearing; of a unit that was retired it says only that this was forbidden. Parts are no units."""
        if unit.fitted_to is not None:
            return
        worn = unit.wearings[-1] if unit.wearings and unit.wearings[-1].event == event.id else None
        use = Use(at, unit.site, None, event.id, event.wearer, worn=True, counted=False, forbidden=forbidden)
        if worn is not None:
            use = replace(use, lapse=worn.lapse, until=worn.until, counted=worn.counted)
            self._wearings[event.id] = len(self.made)
        self.made.append(use)

    def lapse(self, unit: Unit) -> None:
        """Note from when on wearings lacked cover."""
        for worn in unit.wearings:
            nth = None if worn.lapse is None else self._wearings.pop(worn.event, None)
            if nth is not None:
                self.made[nth] = replace(self.made[nth], lapse=worn.lapse)

    def open(self, unit: Unit, now: datetime) -> tuple[Use, ...]:
        """Give the uses that begin now or with a wearing that goes on, and all after them."""
        since = min([now, *(worn.at for worn in unit.wearings if worn.until is not None and worn.until > now)])
        first = bisect_left(self.made, since, key=lambda use: use.at)
        return tuple(self.made[first:])
