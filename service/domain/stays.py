"""Stays: which part sat in which position of a unit, and who had the unit, from when to when.

Of a position that was emptied it is told that nothing sat there; of one of which nothing was said, nothing is told. A
part stays under one name: once it is identified as another its stay ends, and it goes on staying under the new one,
`began` when it was put in. What stays for no time at all is no stay. What was said of a part as it was taken out, or at
that very instant, names it in its last moment, beside what it was known as. What came in and went on one day that alone
was said may have stayed for hours: it is told in the last moment of that day, beside what was there; so is whoever had
the unit by one day alone and no longer at its end.
"""

from collections.abc import Iterable
from datetime import datetime

import msgspec
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.intervals import MOMENT
from service.domain.part import Part, names
from service.domain.standing import FOREVER
from service.domain.unit import Fitted, Unit


class Stay(msgspec.Struct, gc=False, frozen=True, omit_defaults=True):
    """A part in a position of a unit (None: it was emptied), or the unit in a hand (`position` None): [since, until).

    `began` is when the part was put in, whatever it was known as; of one that was there before anything was said of the
    position (`was_there`) it is when that was said; of a hand it is when its time begins to count. `day` is the
    beginning of the day, where it began on one that alone was said. A hand had the unit at its `site`: at another it is
    another stay; `nth` is how many had it before at that instant.
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
    nth: int = 0

    def goes_on(self, other: "Stay") -> bool:
        """Say whether another stay is the same one, told later."""
        return replace(self, until=FOREVER) == replace(other, until=FOREVER)


class Stays:
    """The stays that a fold tells: those that ended on the way, and those that are open.

    `hand` is the open one in a hand; those of parts follow from the unit. With `news` what is open at the start and
    goes on is not told: it was before, and nothing that followed has ended it.
    """

    def __init__(self, unit: Unit, hand: Stay | None, *, news: bool) -> None:
        self._open = {stay.position: stay for stay in (*_of_parts(unit), *([] if hand is None else [hand]))}
        self._known = set(self._open.values()) if news else set()
        self._ended: list[Stay] = []
        self._gone: list[Stay] = []
        self._seen = unit

    @property
    def hand(self) -> Stay | None:
        """Give the open stay in a hand."""
        return self._open.get(None)

    @property
    def ended(self) -> tuple[Stay, ...]:
        """Give those that ended on the way."""
        return tuple(self._ended)

    @property
    def gone(self) -> tuple[Stay, ...]:
        """Give those that are none, ended by what came at their first moment; they may have been told before."""
        return tuple(self._gone)

    def see(self, unit: Unit, at: datetime, day: datetime | None = None) -> None:
        """Look at the unit after something happened, at a moment or, by what was said, on a day that began then."""
        was, self._seen = self._seen, unit
        if unit.parts is not was.parts:
            now = {stay.position: stay for stay in _of_parts(unit)}
            for position in {*was.parts, *unit.parts}:
                if _put_in(was.parts.get(position), unit.parts.get(position)):
                    self._leave(position, unit, at, day)
                self._turn(position, now.get(position), at)
        if (unit.holder, unit.site) != (was.holder, was.site):
            self._hand_over(unit, at, day)

    def _leave(self, position: str, unit: Unit, at: datetime, day: datetime | None) -> None:
        """Tell in its last moment by which names a part that leaves was not known before, also where none was said.

        Of one that was there for no time at all only if it may have been in on a day: the one on which it came or went.
        """
        was = self._open.get(position, Stay(position, at, at, was_there=True))
        fitted, last = unit.parts[position], at - MOMENT
        short = (unit.beginning if was.was_there else was.began) >= last
        may_be = was.day or (day if short else None)
        if short and may_be is None:
            return
        began = last if was.was_there and was.began == at and not short else was.began
        there = replace(was, began=began, until=at, day=may_be)
        for nth, part in enumerate(_last_names(was, fitted.took_out, at)):
            self._ended.append(replace(there, since=last - (2 * fitted.nth + nth) * MOMENT, part=part))

    def _hand_over(self, unit: Unit, at: datetime, day: datetime | None) -> None:
        """Tell who has the unit now, and in the last moment of a day who may have had it on that for hours."""
        was = self._open.get(None)
        nth = 0 if was is None or was.since < at else was.nth + 1
        may_be = None if was is None or not nth else was.day or day
        if was is not None and may_be is not None and may_be < at:
            self._ended.append(replace(was, since=at - nth * MOMENT, until=at, day=may_be, nth=0))
        held = Stay(None, at, at, holder=unit.holder, day=day, site=unit.site, nth=nth)
        self._turn(None, None if unit.holder is None else held, at)

    def _turn(self, position: str | None, now: Stay | None, at: datetime) -> None:
        """End what stayed there, if it is not what stays there now; one of the same beginning is it, told better."""
        was = self._open.get(position)
        if was == now:
            return
        if was is not None:
            del self._open[position]
            if now is None or now.since != was.since:
                if was.since < at:
                    self._ended.append(replace(was, until=at))
                else:
                    self._gone.append(was)
                    self._known.discard(was)
        if now is not None:
            self._open[position] = now

    def told(self) -> tuple[Stay, ...]:
        """Give the stays, in order of their beginning."""
        return joined(self._ended, (stay for stay in self._open.values() if stay not in self._known))


def _put_in(known: Fitted | None, fitted: Fitted | None) -> bool:
    """Say whether something else was put into a position, or it was emptied."""
    return fitted is not None and (known is None or known.event != fitted.event)


def _last_names(was: Stay, took_out: Part | None, at: datetime) -> list[Part]:
    """Give the names, two at most, that a part had for no time before it was taken out, the last one first."""
    named = [] if was.part is None or was.since < at else [was.part]
    if took_out is None or (was.part is not None and names(took_out) == names(was.part)):
        return named
    return [took_out, *named]


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


def joined(before: Iterable[Stay], after: Iterable[Stay], gone: Iterable[Stay] = ()) -> tuple[Stay, ...]:
    """Give the stays of a fold and of one that went on from it: of one that both tell, the later word.

    Those are left out that the later one found `gone`.
    """
    none = {(stay.position, stay.since) for stay in gone}
    kept = (stay for stay in before if (stay.position, stay.since) not in none)
    told = {(stay.position, stay.since): stay for stay in (*kept, *after)}
    return tuple(sorted(told.values(), key=lambda stay: (stay.since, stay.position or "")))
