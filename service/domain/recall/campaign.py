"""Campaigns: a recall as it was opened, perhaps more than once, and closed, as known."""

from collections.abc import Iterable
from datetime import date, datetime

import msgspec

from service.domain.facts import instant
from service.domain.kinds.recall_closed import RecallClosed
from service.domain.kinds.recall_opened import Action, RecallOpened
from service.domain.recall.dating import opening_of
from service.domain.recall.opening import Opening
from service.domain.recorded import Recorded
from service.domain.voiding import every_voiding
from service.domain.world import World


class Closing(msgspec.Struct, frozen=True):
    """The end of a campaign: its event, its instant, and the units it names as not dealt with."""

    row: Recorded
    at: datetime
    outstanding: tuple[str, ...]


class Campaign(msgspec.Struct, frozen=True):
    """A recall by its name, with what opened it in order of time; a rehearsal if every opening is one."""

    recall: str
    opened: tuple[Recorded, ...]
    openings: tuple[Opening, ...]
    rehearsal: bool
    closing: Closing | None

    @property
    def action(self) -> Action:
        """Give what is asked, as last said."""
        return self.openings[-1].action

    @property
    def due_on(self) -> date | None:
        """Give the day by which it is asked, as last said."""
        return self.openings[-1].due_on

    @property
    def at(self) -> datetime:
        """Give the instant it was first opened at."""
        return self.openings[0].at

    @property
    def voided_at(self) -> datetime | None:
        """Give the instant since which it is voided altogether; units it had reached stay under it (design 3.6)."""
        ends = [opening.until for opening in self.openings]
        known = [end for end in ends if end is not None]
        return max(known) if len(known) == len(ends) else None


def campaigns(rows: Iterable[Recorded], world: World, until: datetime) -> dict[str, Campaign]:
    """Give the recalls that were opened by a moment, by name. A closing that was voided closes nothing."""
    known = list(rows)
    taken_back = every_voiding(known)
    opened: dict[str, list[tuple[Opening, Recorded, bool]]] = {}
    closed: dict[str, Closing] = {}
    for row in known:
        event = row.event
        if isinstance(event, RecallOpened):
            opening = opening_of(row, event, taken_back, world)
            if opening.at <= until:
                opened.setdefault(event.recall, []).append((opening, row, event.rehearsal))
        elif isinstance(event, RecallClosed) and event.id not in taken_back:
            at = instant(event, None, world)
            if at <= until and (event.recall not in closed or closed[event.recall].at <= at):
                closed[event.recall] = Closing(row, at, tuple(one.asset for one in event.outstanding))
    return {recall: _campaign(recall, opened[recall], closed.get(recall)) for recall in sorted(opened)}


def _campaign(recall: str, opened: list[tuple[Opening, Recorded, bool]], closing: Closing | None) -> Campaign:
    opened.sort(key=lambda one: one[0].key)
    openings, rows, rehearsals = zip(*opened, strict=True)
    standing = closing if closing is not None and closing.at >= openings[-1].at else None
    return Campaign(recall, rows, openings, all(rehearsals), standing)
