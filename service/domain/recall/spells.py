"""Spells: from when to when a unit was under a recall, so that what was done about one piece speaks for no other.

What is under it now is a spell of its own, from when the first piece of that came in: whatever was found, stopped or
put away before was another. Earlier pieces that followed each other without a gap are one spell. What came in on a day
that alone was said counts from its end on, and may have been there since it began (`earliest`): who had the unit in
hand on that day, or gave a reason for it, did so for that piece.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

import msgspec

from service.domain.recall.impact import Sitting, Touched
from service.domain.unit import Remedy, Unit


class Spell(msgspec.Struct, gc=False, frozen=True):
    """A spell under a recall: since when, when the last of it was dealt with, and when the next one began (or None).

    It may have begun as early as `earliest`.
    """

    since: datetime
    earliest: datetime
    ended: datetime | None
    again: datetime | None = None

    def holds(self, moment: datetime) -> bool:
        """Say whether what was done at a moment was done about this spell: afterwards too, up to the next."""
        return self.since <= moment and (self.again is None or moment < self.again)


class _Piece(NamedTuple):
    """What sat in a unit, when the first and the last opening was that speaks of it, and since when it may have sat."""

    sitting: Sitting
    opened: datetime
    renewed: datetime
    sat: datetime

    @property
    def since(self) -> datetime:
        """Give when it came under the recall."""
        return max(self.opened, self.sitting.since)

    @property
    def earliest(self) -> datetime:
        """Give the earliest moment at which it may have come under it."""
        return max(self.opened, self.sat)

    @property
    def until(self) -> datetime | None:
        """Give when it was taken out."""
        return self.sitting.until


def spells(unit: Unit, touched: Touched, recall: str) -> tuple[Spell, ...]:
    """Give the spells of a unit since a recall was opened, in order; none where all was over by then.

    What each piece comes under is the first opening that speaks of it: a recall opened again may speak of more.
    """
    pieces = map(_Piece, touched.sittings, touched.opened, touched.renewed, touched.earliest)
    after = [one for one in pieces if one.until is None or one.until > one.opened]
    under = [one for one in after if one.sitting.state == "affected"]
    now = min((one.since for one in under), default=None)
    acts = [*unit.fixed.get(recall, ()), *unit.not_affected.get(recall, ())]
    over = [one for one in after if one.sitting.state != "affected" and (now is None or one.sitting.since < now)]
    joined: list[Spell] = []
    for since, earliest, ended in sorted(_dealt_with(over, acts)):
        if joined and joined[-1].ended is not None and since <= joined[-1].ended:
            before = joined.pop()
            joined.append(Spell(before.since, min(before.earliest, earliest), max(ended, before.ended or ended)))
        else:
            joined.append(Spell(since, earliest, ended))
    every = [*joined, *([] if now is None else [Spell(now, min(one.earliest for one in under), None)])]
    return tuple(_numbered(every))


def _dealt_with(pieces: Iterable[_Piece], acts: Sequence[Remedy]) -> Iterator[tuple[datetime, datetime, datetime]]:
    """Give since when each was under the recall, at the earliest, and until when.

    One that was only let go, after a voiding, never ended so.

    What was remedied after the last opening that asked for it, and taken out later, was dealt with by then.
    """
    for one in pieces:
        remedies = [act.at for act in acts if act.at > one.since and act.by >= one.sitting.since]
        if one.until is not None:
            remedies = [at for at in remedies if one.renewed < at < one.until]
        ended = max(remedies, default=one.until)
        if ended is not None:
            yield one.since, one.earliest, ended


def _numbered(every: Sequence[Spell]) -> Iterator[Spell]:
    """Say of each when the next began; one that had not ended by then ends there."""
    for nth, spell in enumerate(every):
        again = every[nth + 1].since if nth + 1 < len(every) else None
        ended = spell.ended if again is None or spell.ended is None else min(spell.ended, again)
        yield Spell(spell.since, spell.earliest, ended, again)
