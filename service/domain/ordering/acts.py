"""Acts: the events about orders that count at a moment, by what they are about, in the order of the fold."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import UTC, datetime
from typing import Generic, NamedTuple, TypeVar
from uuid import UUID

import msgspec

from service.domain.event import Event
from service.domain.facts import fold_key, lasting
from service.domain.kinds.order_cancelled import OrderCancelled
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.order import Deed
from service.domain.recorded import Recorded
from service.domain.world import World

E = TypeVar("E", bound=Event)


class Said(NamedTuple, Generic[E]):
    """An event, its instant, and the row that it stands in."""

    at: datetime
    event: E
    row: Recorded


class Acts(msgspec.Struct, frozen=True):
    """Approvals and placements by proposal, cancellations and receipts by order.

    `named` are all proposals ever named, if only by a voided event or one of later than the moment; `voided` are the
    events that were taken back; `beyond` are placements that count for nothing (see `reach`). `arriving` are receipts
    of a day that is not over: what they bring is in stock from then on, and on its way until then.
    """

    approvals: dict[str, list[Said[ReorderApproved]]]
    placements: dict[str, list[Said[OrderPlaced]]]
    cancellations: dict[str, list[Said[OrderCancelled]]]
    receipts: dict[str, list[Said[StockReceived]]]
    named: frozenset[str]
    voided: frozenset[UUID]
    arriving: dict[str, list[Said[StockReceived]]]
    beyond: tuple[Said[OrderPlaced], ...] = ()

    @property
    def placed(self) -> list[Said[OrderPlaced]]:
        """Give every placement."""
        return [said for told in self.placements.values() for said in told]


def acts_of(rows: Iterable[Recorded], taken_back: Collection[UUID], world: World, as_at: datetime) -> Acts:
    """Sort the events of rows; those that are not about orders are passed over."""
    every = list(rows)
    approvals: defaultdict[str, list[Said[ReorderApproved]]] = defaultdict(list)
    placements: defaultdict[str, list[Said[OrderPlaced]]] = defaultdict(list)
    cancellations: defaultdict[str, list[Said[OrderCancelled]]] = defaultdict(list)
    receipts: defaultdict[str, list[Said[StockReceived]]] = defaultdict(list)
    arriving: defaultdict[str, list[Said[StockReceived]]] = defaultdict(list)
    moments = ((*moments_of(row.event, row.received_at, world), row) for row in every)
    placed = [
        ((at, row.event.occurred_at or at, *fold_key(row.event, at)), begins, at, row) for begins, at, row in moments
    ]
    for _, begins, at, row in sorted(placed, key=lambda told: told[0]):
        event = row.event
        if begins > as_at or event.id in taken_back:
            continue
        if isinstance(event, ReorderApproved):
            approvals[event.proposal].append(Said(at, event, row))
        elif isinstance(event, OrderPlaced):
            placements[event.proposal].append(Said(at, event, row))
        elif isinstance(event, OrderCancelled):
            cancellations[event.order].append(Said(at, event, row))
        elif isinstance(event, StockReceived) and event.order is not None:
            (receipts if at <= as_at else arriving)[event.order].append(Said(at, event, row))
    events = (row.event for row in every)
    named = frozenset(event.proposal for event in events if isinstance(event, ReorderApproved | OrderPlaced))
    return Acts(
        dict(approvals),
        dict(placements),
        dict(cancellations),
        dict(receipts),
        named,
        frozenset(taken_back),
        dict(arriving),
    )


def moments_of(event: Event, received_at: datetime, world: World) -> tuple[datetime, datetime]:
    """Give from when on an event about an order counts, and its moment among the others.

    What is approved or ordered on a day counts from its beginning: it was decided, and else the need would be ordered
    again before the day is over. What calls off on a day counts as early, and comes after all that was ordered on it
    before it was received: it speaks of no order that came later. A receipt counts with the stock that it brings, once
    its day is over.

    Nothing of it counts later than it was received: where a clock is fast the need would be ordered again until then.
    """
    known = received_at.astimezone(UTC)
    begins, ends = lasting(event, None, world)
    begins = min(begins, known)
    if isinstance(event, ReorderApproved | OrderPlaced):
        return begins, begins
    if isinstance(event, OrderCancelled):
        return begins, min(ends, known)
    return begins, ends


def deed_of(said: Said[E]) -> Deed:
    """Say who did what an event says."""
    return Deed(said.event.by, said.at, said.event.id, said.row.seq)
