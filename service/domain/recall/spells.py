"""Spells: from when to when a unit was under a recall, so that what was done about one piece speaks for no other.

What is under it now is a spell of its own, from when the first piece of that came in: whatever was found, stopped or
put away before was another. Earlier pieces that followed each other without a gap are one spell. What came in on a day
that alone was said counts from its end on, and may have been there since it began (`earliest`): who had the unit in
hand on that day, or gave a reason for it, did so for that piece.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

import msgspec

from service.domain.recall.impact import Meant, Touched
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


def _since(one: Meant) -> datetime:
    """Give when a piece came under the recall: as it came in, or with the first opening that speaks of it."""
    return max(one.said.opened, one.sitting.since)


def _earliest(one: Meant) -> datetime:
    """Give the earliest moment at which it may have come under it."""
    return max(one.said.opened, one.earliest)


def spells(unit: Unit, touched: Touched, recall: str) -> tuple[Spell, ...]:
    """Give the spells of a unit since a recall was opened, in order; none where all was over by then.

    What each piece comes under is the first opening that speaks of it: a recall opened again may speak of more.
    """
    after = [one for one in touched.meant if one.sitting.until is None or one.sitting.until > one.said.opened]
    if not after:
        return ()
    under = [one for one in after if one.sitting.state == "affected"]
    if len(under) == len(after) == 1:
        return (Spell(_since(under[0]), _earliest(under[0]), None),)
    now = min([_since(one) for one in under], default=None)
    over = [one for one in after if one.sitting.state != "affected" and (now is None or one.sitting.since < now)]
    acts = [*unit.fixed.get(recall, ()), *unit.not_affected.get(recall, ())] if over else []
    earlier = _joined(_dealt_with(over, acts)) if over else []
    if now is None:
        return tuple(_numbered(earlier))
    last = Spell(now, min([_earliest(one) for one in under]), None)
    return tuple(_numbered([*earlier, last])) if earlier else (last,)


def _joined(spans: Iterable[tuple[datetime, datetime, datetime]]) -> list[Spell]:
    """Make one spell of pieces that followed each other without a gap."""
    joined: list[Spell] = []
    for since, earliest, ended in sorted(spans):
        if joined and joined[-1].ended is not None and since <= joined[-1].ended:
            before = joined.pop()
            joined.append(Spell(before.since, min(before.earliest, earliest), max(ended, before.ended or ended)))
        else:
            joined.append(Spell(since, earliest, ended))
    return joined


def _dealt_with(pieces: Iterable[Meant], acts: Sequence[Remedy]) -> Iterator[tuple[datetime, datetime, datetime]]:
    """Give since when each was under the recall, at the earliest, and until when.

    One that was only let go, after a voiding, never ended so.

    What was remedied after the last opening that asked for it, and taken out later, was dealt with by then.
    """
    for one in pieces:
        since, until = _since(one), one.sitting.until
        remedies = [act.at for act in acts if act.at > since and act.by >= one.sitting.since]
        if until is not None:
            remedies = [at for at in remedies if one.said.renewed < at < until]
        ended = max(remedies, default=until)
        if ended is not None:
            yield since, _earliest(one), ended


def _numbered(every: Sequence[Spell]) -> Iterator[Spell]:
    """Say of each when the next began; one that had not ended by then ends there."""
    for nth, spell in enumerate(every):
        again = every[nth + 1].since if nth + 1 < len(every) else None
        ended = spell.ended if again is None or spell.ended is None else min(spell.ended, again)
        yield Spell(spell.since, spell.earliest, ended, again)
