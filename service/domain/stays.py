"""Stays: which part sat in which position of a unit, and who had the unit, from when to when.

Of a position that was emptied it is told that nothing sat there; of one of which nothing was said, nothing is told. A
part stays under one name: once it is identified as another its stay ends, and it goes on staying under the new one,
`began` when it was put in. What stays for no time at all is no stay. What was said of a part as it was taken out names
it in its last moment, beside what it was known as.
"""

from collections.abc import Iterable
from datetime import datetime

import msgspec
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.intervals import MOMENT
from service.domain.part import Part, names
from service.domain.standing import FOREVER
from service.domain.unit import Unit


class Stay(msgspec.Struct, gc=False, frozen=True, omit_defaults=True):
    """A part in a position of a unit (None: it was emptied), or the unit in a hand (`position` None): [since, until).

    `began` is when the part was put in, whatever it was known as; of one that was there before anything was said of the
    position (`was_there`) it is when that was said; of a hand it is when its time begins to count. `day` is the
    beginning of the day, where it began on one that alone was said. A hand had the unit at its `site`: at another it is
    another stay.
    """

    position: str | None
    since: datetime
    began: datetime
    until: datetime = FOREVER
    part: Part | None = None
    holder: Holder | None = None
    was_there: bool = False
    day: datetime | None = None
    site: str | None = None

    def goes_on(self, other: "Stay") -> bool:
        """Say whether another stay is the same one, told later."""
        return replace(self, until=FOREVER) == replace(other, until=FOREVER)


class Stays:
    """The stays that a fold tells: those that ended on the way, and those that are open.

    `hand` is the open one in a hand; those of parts follow from the unit. With `news` what is open at the start and
    goes on is not told: it was before.
    """

    def __init__(self, unit: Unit, hand: Stay | None, *, news: bool) -> None:
        self._open = {stay.position: stay for stay in (*_of_parts(unit), *([] if hand is None else [hand]))}
        self._known = set(self._open.values()) if news else set()
        self._ended: list[Stay] = []
        self._seen = unit

    @property
    def hand(self) -> Stay | None:
        """Give the open stay in a hand."""
        return self._open.get(None)

    @property
    def ended(self) -> tuple[Stay, ...]:
        """Give those that ended on the way."""
        return tuple(self._ended)

    def see(self, unit: Unit, at: datetime, day: datetime | None = None) -> None:
        """Look at the unit after something happened, at a moment or, by what was said, on a day that began then."""
        was, self._seen = self._seen, unit
        if unit.parts is not was.parts:
            now = {stay.position: stay for stay in _of_parts(unit)}
            for position in {*was.parts, *unit.parts}:
                self._name(position, unit, at)
                self._turn(position, now.get(position), at)
        if (unit.holder, unit.site) != (was.holder, was.site):
            held = None if unit.holder is None else Stay(None, at, at, holder=unit.holder, day=day, site=unit.site)
            self._turn(None, held, at)

    def _name(self, position: str, unit: Unit, at: datetime) -> None:
        """Tell what a part turned out to be as it was taken out, also of one that nothing was said of before."""
        fitted, last = unit.parts.get(position), at - MOMENT
        was = self._open.get(position)
        if fitted is None or fitted.took_out is None or fitted.at != at:
            return
        if was is None and unit.beginning < last:
            self._ended.append(Stay(position, last, last, at, part=fitted.took_out, was_there=True))
        if was is not None and was.part is not None and was.since < last and names(was.part) != names(fitted.took_out):
            self._ended.append(replace(was, until=at))
            self._open[position] = replace(was, since=last, part=fitted.took_out)

    def _turn(self, position: str | None, now: Stay | None, at: datetime) -> None:
        """End what stayed there, if it is not what stays there now; one of the same beginning is it, told better."""
        was = self._open.get(position)
        if was == now:
            return
        if was is not None:
            del self._open[position]
            if was.since < at and (now is None or now.since != was.since):
                self._ended.append(replace(was, until=at))
        if now is not None:
            self._open[position] = now

    def told(self) -> tuple[Stay, ...]:
        """Give the stays, in order of their beginning."""
        every = [*self._ended, *(stay for stay in self._open.values() if stay not in self._known)]
        return tuple(sorted(every, key=lambda stay: (stay.since, stay.position or "")))


def _of_parts(unit: Unit) -> list[Stay]:
    return [
        Stay(
            position,
            fitted.named_at or fitted.at,
            fitted.at,
            part=fitted.part,
            was_there=fitted.was_there,
            day=fitted.day,
        )
        for position, fitted in unit.parts.items()
    ]


def joined(before: Iterable[Stay], after: Iterable[Stay]) -> tuple[Stay, ...]:
    """Give the stays of a fold and of one that went on from it: of one that both tell, the later word."""
    told = {(stay.position, stay.since): stay for stay in (*before, *after)}
    return tuple(sorted(told.values(), key=lambda stay: (stay.since, stay.position or "")))
