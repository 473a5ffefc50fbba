"""Changes: what each event says of the stock of a site, and their order.

A count says what is there; what comes and goes after it is added and taken off. What was fitted new, by a change or a
repair, is taken off the stock of the site where that was said to be, else where its unit was, one by one, in the unit
of its item, or in ones where that is not defined: an opened box is a box until it is counted. A refitted part comes
from no shelf.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Final, Literal, NamedTuple
from uuid import UUID

from service.domain.event import Event, StockEvent
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.repaired import Repaired
from service.domain.kinds.stock_counted import StockCounted
from service.domain.kinds.stock_discarded import StockDiscarded
from service.domain.kinds.stock_moved import StockMoved
from service.domain.kinds.stock_received import StockReceived
from service.domain.part import Part
from service.domain.parts_told import parts_of

Fit = FilterReplaced | PartReplaced | Repaired
Telling = StockEvent | Fit
"""What tells of stock."""
Step = Literal["put", "take", "count"]
What = Literal["received", "counted", "moved-in", "moved-out", "discarded", "fitted"]
STEPS: Final[Mapping[What, Step]] = {
    "received": "put",
    "moved-in": "put",
    "counted": "count",
    "moved-out": "take",
    "discarded": "take",
    "fitted": "take",
}
ONE: Final = "C62"
"""A single piece: "one" of UN/ECE Recommendation 20."""
ONE_PART: Final = Decimal(1)


class Change(NamedTuple):
    """What an event says of the stock of a site; `nth` tells what it says of one item apart.

    `device` and `counter` are those of its sender, "" and -1 where none is named. `day` is the local day on which
    something was fitted, where the site's days are known.
    """

    at: datetime
    step: Step
    what: What
    site: str
    item: str
    lot: str | None
    expires: str | None
    unit: str
    quantity: Decimal
    place: str | None
    event: UUID
    nth: int
    device: str = ""
    counter: int = -1
    day: date | None = None


def changes_of(
    at: datetime, event: Telling, units: Mapping[str, str], home: str | None = None, day: date | None = None
) -> Iterator[Change]:
    """Give what an event says; `units` are those that items are counted in, `home` the site where its unit was.

    `day` is its local day, where it is known.
    """
    counter = -1 if event.device_seq is None else event.device_seq
    sender = (event.device or "", counter, day)
    if isinstance(event, Fit):
        site = event.site or home
        for nth, part in enumerate(new_parts(event)):
            if site is not None:
                yield Change(
                    *(at, "take", "fitted", site, part.item, part.lot, part.expires),
                    *(units.get(part.item, ONE), ONE_PART, None, event.id, nth),
                    *sender,
                )
        return
    for nth, (what, site, place) in enumerate(_said(event)):
        yield Change(
            *(at, STEPS[what], what, site, event.item, event.lot, event.expires),
            *(event.unit, Decimal(repr(event.quantity)), place, event.id, nth),
            *sender,
        )


def new_parts(event: Event) -> list[Part]:
    """Give the parts that an event says were fitted new."""
    return [part for part in parts_of(event) if part.condition == "new"] if isinstance(event, Fit) else []


def _said(event: StockEvent) -> Iterator[tuple[What, str, str | None]]:
    match event:
        case StockReceived():
            yield "received", event.site, event.place
        case StockCounted():
            yield "counted", event.site, event.place
        case StockDiscarded():
            yield "discarded", event.site, event.place
        case StockMoved():
            yield "moved-out", event.site, None
            yield "moved-in", event.to_site, None


def order(change: Change) -> tuple[object, ...]:
    """Put what came at an instant before what went, and a count last: of a place after that of the site.

    Of what is alike in that the counter of its device tells which was later (R2), as of two counts of one day.
    """
    placed = change.place is not None
    step = {"put": 0, "take": 1 if placed else 2, "count": 4 if placed else 3}[change.step]
    said = (
        change.device,
        change.counter,
        change.place or "",
        change.quantity,
        change.lot or "",
        change.expires or "",
        change.unit,
    )
    return change.at, step, *said, change.event.bytes, change.nth
