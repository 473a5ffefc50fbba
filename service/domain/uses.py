"""The uses that a fold has told so far, those that may still turn out otherwise among them."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

from msgspec.structs import replace

from service.domain.event import AssetEvent
from service.domain.facts import Fact, day_of
from service.domain.intervals import Interval
from service.domain.kinds.checked import Checked
from service.domain.kinds.failed_check import FailedCheck
from service.domain.kinds.failed_in_use import FailedInUse
from service.domain.kinds.worn import Worn
from service.domain.unit import Unit
from service.domain.wearing import KnownBy, Use


def against(interval: Interval) -> tuple[str, ...]:
    """Name what forbids the use of a unit, but for uses outside the cover of a check: those are told by themselves."""
    if not interval.do_not_use:
        return ()
    return tuple(reason for reason in interval.reasons if reason != "used-without-check")


def told_by(unit: Unit, fact: Fact) -> Use | None:
    """Give who wore a unit by an event, aside; None where that names nobody, or an echo says it again."""
    found = None if fact.echo else _wearer(fact.event)
    if found is None:
        return None
    (person, known_by), event = found, fact.event
    until = event.until.astimezone(UTC) if isinstance(event, Worn) and event.until is not None else None
    return Use(
        fact.at,
        unit.site,
        None,
        event.id,
        person,
        until,
        worn=True,
        counted=False,
        known_by=known_by,
        aside=True,
        day=day_of(fact),
    )


def _wearer(event: AssetEvent) -> tuple[str, KnownBy] | None:
    """Name who wore a unit by an event, and its kind."""
    match event:
        case Worn():
            return event.wearer, "worn"
        case Checked() if event.wearer is not None:
            return event.wearer, "checked"
        case FailedCheck() if event.wearer is not None:
            return event.wearer, "failed-check"
        case FailedInUse() if event.wearer is not None:
            return event.wearer, "failed-in-use"
    return None


class Uses:
    """The uses told so far. One that is a wearing may still come to lack cover within it (R17, R18)."""

    def __init__(self, told: Sequence[Use]) -> None:
        self.made = list(told)
        self._wearings = {use.ref: nth for nth, use in enumerate(told) if _judged(use) and use.lapse is None}

    def add(self, uses: Iterable[Use], intervals: Sequence[Interval]) -> None:
        """Add uses counted by the calendar in a stretch of time of these intervals."""
        for use in uses:
            forbidden = against(next(one for one in reversed(intervals) if one.since <= use.at))
            self.made.append(replace(use, forbidden=forbidden) if forbidden else use)

    def wear(self, unit: Unit, fact: Fact, forbidden: tuple[str, ...]) -> None:
        """Add the wearing that an event tells of; of a unit that was retired it says only that this was forbidden.

        Parts are no units: who wore one is told aside.
        """
        use = told_by(unit, fact)
        if use is None:
            return
        if use.known_by == "worn" and unit.fitted_to is None:
            use = replace(use, forbidden=forbidden, aside=False)
            worn = unit.wearings[-1] if unit.wearings and unit.wearings[-1].event == use.ref else None
            if worn is not None:
                use = replace(use, lapse=worn.lapse, counted=worn.counted)
                self._wearings[use.ref] = len(self.made)
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


def _judged(use: Use) -> bool:
    return use.worn and not use.aside
