"""Spells: from when to when a unit was under a recall, so that what was done about one piece speaks for no other.

What is under it now is a spell of its own, from when the first piece of that came in: whatever was found, stopped or
put away before was another. Earlier pieces that followed each other without a gap are one spell.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

import msgspec

from service.domain.recall.impact import Sitting, Touched
from service.domain.unit import Unit


class Spell(msgspec.Struct, frozen=True):
    """A spell under a recall: since when, when the last of it was dealt with, and when the next one began (or None)."""

    since: datetime
    ended: datetime | None
    again: datetime | None = None

    def holds(self, moment: datetime) -> bool:
        """Say whether what was done at a moment was done about this spell: afterwards too, up to the next."""
        return self.since <= moment and (self.again is None or moment < self.again)


def spells(unit: Unit, touched: Touched, recall: str) -> tuple[Spell, ...]:
    """Give the spells of a unit since a recall was opened, in order; none where all was over by then.

    What each piece comes under is the first opening that speaks of it: a recall opened again may speak of more.
    """
    pieces = zip(touched.sittings, touched.opened, strict=True)
    after = [(one, opened) for one, opened in pieces if one.until is None or one.until > opened]
    now = min((max(opened, one.since) for one, opened in after if one.state == "affected"), default=None)
    acts = [one.at for one in (*unit.fixed.get(recall, ()), *unit.not_affected.get(recall, ()))]
    over = [(one, opened) for one, opened in after if one.state != "affected" and (now is None or one.since < now)]
    joined: list[Spell] = []
    for since, ended in sorted(_dealt_with(over, acts)):
        if joined and joined[-1].ended is not None and since <= joined[-1].ended:
            before = joined.pop()
            joined.append(Spell(before.since, max(ended, before.ended or ended)))
        else:
            joined.append(Spell(since, ended))
    every = [*joined, *([] if now is None else [Spell(now, None)])]
    return tuple(_numbered(every))


def _dealt_with(
    pieces: Iterable[tuple[Sitting, datetime]], acts: Sequence[datetime]
) -> Iterator[tuple[datetime, datetime]]:
    """Give from when to when each was under the recall; one that was only let go, after a voiding, never ended so."""
    for sitting, opened in pieces:
        since = max(opened, sitting.since)
        ended = sitting.until or max((at for at in acts if at > since), default=None)
        if ended is not None:
            yield since, ended


def _numbered(every: Sequence[Spell]) -> Iterator[Spell]:
    """Say of each when the next began; one that had not ended by then ends there."""
    for nth, spell in enumerate(every):
        again = every[nth + 1].since if nth + 1 < len(every) else None
        ended = spell.ended if again is None or spell.ended is None else min(spell.ended, again)
        yield Spell(spell.since, ended, again)
