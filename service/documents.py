"""Documents: what suppliers and stores say of orders. A receipt is recorded, by the ordinary way; all else is told.

Load, decide, append: what is said is held against the firm's items and its orders in one snapshot; what a receipt adds
to stock are events whose names follow from it, so that a receipt sent twice is recorded once.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Final, NamedTuple

from service.assessing import papers
from service.assessing.moment import Question, asked
from service.assessing.named import demand_site
from service.assessing.orders import orders
from service.domain.caller import Caller
from service.domain.codec import encode
from service.domain.errors import BadDocument, BadParameter, Forbidden, TooLarge
from service.domain.ordering.naming import is_receipt_number
from service.domain.problem import Fault
from service.ledger import Ledger
from service.outbound.ubl.documents import DespatchAdvice, OrderResponse, ReceiptAdvice
from service.outbound.ubl.events import answered, on_the_way
from service.outbound.ubl.events.goods import Goods
from service.outbound.ubl.events.lines import Orders, refuse
from service.outbound.ubl.events.placed import placed_of
from service.outbound.ubl.events.received import Arrival, arrived
from service.outbound.ubl.reading import Reading
from service.outbound.ubl.which import Answer
from service.record import Receipt, record

MOST_EVENTS: Final = 1_000
SITE: Final = "/shipment/delivery/site"
UNKNOWN_SITE: Final = "is no site that is defined here"
OWN_RECEIPT: Final = "is the number of a receipt that was written here: what it says is in stock already"
UNKNOWN_ORDER: Final = "is no order that is known here, or none that this key may see"
UNTOLD_ORDER: Final = "has no lines on record that can be told apart: nothing can be held against it"
Meaning = answered.Answer | on_the_way.OnTheWay | Arrival


class Sending(NamedTuple):
    """What is said beside a document: who received goods and where, when it came, and how it is to be taken."""

    by: str | None
    site: str | None
    received_at: datetime
    sent_at: datetime | None
    imported: bool = False
    strict: bool = False


class Known(NamedTuple):
    """What documents are held against: the firm's sites and items, and its orders at the sites of the key."""

    sites: frozenset[str]
    goods: Goods
    orders: Orders
    proposals: Mapping[str, tuple[str, ...]]


class Taken(NamedTuple):
    """What a document says, the orders it names with the proposals that became them, and what was recorded of it."""

    meaning: Meaning
    orders: tuple[tuple[str, tuple[str, ...]], ...]
    receipts: tuple[Receipt, ...] = ()


async def take(ledger: Ledger, caller: Caller, reading: Reading[Answer], sending: Sending) -> Taken:
    """Tell what a document says, and record what a receipt adds to stock.

    Raises BadDocument, BadParameter, NotFound for a site that is asked for, Forbidden for one that a receipt names,
    TooLarge, and what `record` raises.
    """
    async with asked(ledger, caller) as question:
        if sending.site is not None:
            demand_site(question, sending.site)
        known = await _known(question, caller)
    try:
        meaning = _meaning(reading.document, known, caller, sending)
    except BadDocument as error:
        raise reading.refused(error) from error
    receipts = await _recorded(ledger, caller, meaning, sending) if isinstance(meaning, Arrival) else []
    named = [(number, known.proposals.get(number, ())) for number in _orders(reading.document)]
    return Taken(meaning, tuple(named), tuple(receipts))


async def _known(question: Question, caller: Caller) -> Known:
    book, goods = await orders(question, caller.sites), papers.goods(question)
    parts = papers.parts(book, caller.sites)
    return Known(
        sites=question.sites,
        goods=goods,
        orders={number: placed_of(told, goods) for number, told in parts.items()},
        proposals={number: tuple(part.proposal for part in told) for number, told in parts.items()},
    )


def _meaning(document: Answer, known: Known, caller: Caller, sending: Sending) -> Meaning:
    """Say what a document means. BadDocument with pointers into it."""
    match document:
        case OrderResponse():
            return _answer(document, known)
        case DespatchAdvice():
            return on_the_way.on_the_way(document, known.goods, known.orders)
        case ReceiptAdvice():
            return _arrival(document, known, caller, sending)


def _answer(response: OrderResponse, known: Known) -> answered.Answer:
    placed = known.orders.get(response.order)
    if placed is None or not placed.lines:
        told = UNKNOWN_ORDER if placed is None else UNTOLD_ORDER
        raise BadDocument(told, Fault(told, pointer="/order"))
    return answered.answer(response, placed, known.goods)


def _arrival(advice: ReceiptAdvice, known: Known, caller: Caller, sending: Sending) -> Arrival:
    """Say what a receipt adds to stock, at a site that the key posts for. All faults are told at once."""
    if sending.by is None:
        raise BadParameter("by", "A receipt is recorded: say who received the goods, by a person's reference.")
    shipped = advice.shipment.delivery if advice.shipment else None
    site = (shipped.site if shipped else None) or sending.site
    if site is not None and caller.sites is not None and site not in caller.sites:
        told = f"This key may not post for site {site!r}: send it with a key that is bound to that site."
        raise Forbidden(told)
    found = [] if site in {None, *known.sites} else [Fault(UNKNOWN_SITE, pointer=SITE)]
    found += [Fault(OWN_RECEIPT, pointer="/id")] if is_receipt_number(advice.id) else []
    try:
        arrival = arrived(
            advice,
            known.goods,
            known.orders,
            organisation=caller.organisation,
            by=sending.by,
            site=sending.site,
        )
    except BadDocument as error:
        raise BadDocument(error.detail, *found, *error.faults) from error
    refuse(found)
    return arrival


async def _recorded(ledger: Ledger, caller: Caller, arrival: Arrival, sending: Sending) -> list[Receipt]:
    if len(arrival.events) > MOST_EVENTS:
        told = f"A receipt may come to {MOST_EVENTS} events, this one to {len(arrival.events)}: divide it."
        raise TooLarge(told, MOST_EVENTS)
    return await record(
        ledger,
        caller,
        [encode(event) for event in arrival.events],
        received_at=sending.received_at,
        sent_at=sending.sent_at,
        imported=sending.imported,
        strict=sending.strict,
    )


def _orders(document: Answer) -> list[str]:
    """Name the orders that a document is about."""
    head = (document.order,) if isinstance(document, OrderResponse) else document.orders
    lines = (line.answers.order for line in document.lines if line.answers and line.answers.order)
    return list(dict.fromkeys([*head, *lines]))
