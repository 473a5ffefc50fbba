"""The history of the stock that a recall speaks of: what came, went, was counted and thrown away."""

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from service.assessing.handed_on import of_stock
from service.assessing.log import Some, shown
from service.assessing.moment import Question
from service.assessing.spare_stock import sites_told, stock_events
from service.assessing.taken_back import voidings_of
from service.domain.facts import fold_key, instant
from service.domain.kinds.recall_opened import Criterion
from service.domain.recorded import Recorded
from service.domain.suspicion import clock_doubts
from service.domain.voiding import voidings
from service.outbound.epcis.drawn import drawn
from service.outbound.epcis.names import Names


class Stocked(NamedTuple):
    """Events of stock in the order they happened; what takes any of them back, and which those are."""

    rows: list[Recorded]
    voidings: list[Recorded]
    taken_back: dict[UUID, Recorded]

    def voided_at(self, row: Recorded) -> datetime | None:
        """Give when an event was taken back."""
        voiding = self.taken_back.get(row.event.id)
        return None if voiding is None else voiding.recorded_at


async def stock_told(question: Question, criteria: Iterable[Criterion], sites: Collection[str] | None) -> Stocked:
    """Find the events of stock that the criteria speak of, up to the moment, at these sites (None: all).

    What was moved to a site is told there, too, but to no key that does not read the site it came from.
    """
    every = await stock_events(question, criteria, question.reach)
    there = [row for row in every if sites is None or not set(sites).isdisjoint(sites_told(row.event))]
    placed = [(fold_key(row.event, instant(row.event, None, question.world)), row) for row in there]
    rows = [row for key, row in sorted(placed, key=lambda one: one[0]) if key[0] <= question.as_at]
    back = await voidings_of(question, rows)
    return Stocked(rows, back, voidings(back))


async def stock_posted(question: Question, stock: Stocked, *, after: int, limit: int) -> Some:
    """Give so many of the events after the first ones, as they were posted; last what takes events back."""
    every = [*stock.rows, *stock.voidings]
    rows = every[after : after + limit]
    items = [
        {
            **told,
            "conflicts": list(row.conflicts),
            "voided_by": voiding.event.id if (voiding := stock.taken_back.get(row.event.id)) else None,
            "time_doubts": list(clock_doubts(row, question.world)),
        }
        for told, row in zip(await shown(question, rows), rows, strict=True)
    ]
    return Some(items, len(rows), len(every) > after + limit)


def stock_drawn(question: Question, stock: Stocked, names: Names, *, after: int, limit: int) -> Some:
    """Give so many of the events after the first ones, as EPCIS has them."""
    rows = stock.rows[after : after + limit]
    acts = (of_stock(row, question.world, stock.voided_at(row)) for row in rows)
    return Some([event for act in acts for event in drawn(act, names)], len(rows), len(stock.rows) > after + limit)
