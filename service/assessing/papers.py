"""Papers: an order and what came of it as documents, and what documents of others are held against."""

from datetime import date

from msgspec.structs import replace

from service.assessing.moment import Question
from service.assessing.orders import items_of
from service.assessing.reckoner import Reckoner
from service.assessing.reorders import need_of
from service.domain.errors import BadDocument, CannotBeWritten, ProposalState
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.book import Book
from service.domain.ordering.life import Life
from service.domain.ordering.naming import Need, receipt_number
from service.domain.ordering.order import Order as Part
from service.domain.ordering.shares import share
from service.outbound.ubl.documents import Order, ReceiptAdvice
from service.outbound.ubl.events.goods import Goods, goods_of
from service.outbound.ubl.events.ordered import as_document
from service.outbound.ubl.events.parties import buyer_of, place_of
from service.outbound.ubl.events.placed import approved_of, placed_of
from service.outbound.ubl.events.receipt import Papers, as_receipt
from service.outbound.ubl.events.received import Arrival
from service.outbound.ubl.parts import Party
from service.store.events_by_ids import events_by_ids


def goods(question: Question) -> Goods:
    """Give the firm's items as they are defined at the moment asked about."""
    found = (question.world.rulebook.item(ref, question.as_at) for ref in sorted(items_of(question)))
    return goods_of(item for item in found if item is not None)


def parts(book: Book, reach: frozenset[str] | None) -> dict[str, list[Part]]:
    """Give the parts of orders for the sites that a key reaches (None: all), by their numbers."""
    found = {
        number: [part for part in parts if reach is None or part.site in reach] for number, parts in book.orders.items()
    }
    return {number: told for number, told in found.items() if told}


def order(reckoner: Reckoner, proposal: str) -> Order:
    """Write the order of a proposal: its own part where the number is for several. It has the prices that were said.

    Raises NotFound, ProposalState where there is nothing to order, and CannotBeWritten.
    """
    question, need = reckoner.question, need_of(reckoner.book, proposal)
    site, every = question.world.rulebook.site(need.site, question.as_at), goods(question)
    placed, day = _placed(reckoner.book.life(proposal), need, every)
    try:
        return as_document(
            placed, every, issued_on=day, buyer=buyer_of(site), supplier=Party(), delivery=place_of(site)
        )
    except BadDocument as error:
        raise CannotBeWritten.of(error) from error


async def receipt(reckoner: Reckoner, proposal: str) -> ReceiptAdvice:
    """Write what came of the order of a proposal at its site; the number of the receipt grows with what comes.

    Raises NotFound, ProposalState where nothing came, and CannotBeWritten.
    """
    question, need = reckoner.question, need_of(reckoner.book, proposal)
    site, life = question.world.rulebook.site(need.site, question.as_at), reckoner.book.life(proposal)
    shown = life.order
    if shown is None:
        raise _none(life, "Nothing was ordered yet.")
    items = {need.item, *(line.item for line in shown.lines)}
    came = share(shown, reckoner.book.orders[shown.order], need.site, items)
    if not came:
        raise _none(life, "Nothing of it has come yet.")
    stored = await events_by_ids(question.conn, question.organisation, [one.event for one, _ in came])
    events = [(stored[one.event].recorded.event, quantity) for one, quantity in came]
    papers = Papers(
        number=receipt_number(proposal, max(one.seq for one, _ in came)),
        issued_on=max(one.on for one, _ in came),
        buyer=buyer_of(site),
        supplier=Party(id=shown.supplier),
    )
    theirs = (replace(event, quantity=much) for event, much in events if isinstance(event, StockReceived))
    arrival = Arrival(events=tuple(theirs))
    try:
        return as_receipt(arrival, papers, goods(question), question.world.rulebook.zone(need.site, question.as_at))
    except BadDocument as error:
        raise CannotBeWritten.of(error) from error


def _placed(life: Life, need: Need, every: Goods) -> tuple[OrderPlaced, date]:
    """Give what is ordered and the local day of it: as it was placed, else as it was approved. Raises ProposalState."""
    shown, approval = life.order, life.approval
    if shown is not None:
        if shown.cancelled is not None:
            raise _none(life, "It was called off, so that nothing is to be ordered.")
        return placed_of([shown], every), shown.placed_on
    if approval is None:
        path = f"/v1/reorders/{life.proposal}/approval"
        raise _none(life, f"An order says what was approved: have a manager approve it at {path}, then ask again.")
    placed = approved_of(life, need, every)
    if placed is None:
        raise _none(life, f"Nobody said how much: void event {approval.deed.event} and approve it with a quantity.")
    return placed, approval.on


def _none(life: Life, instead: str) -> ProposalState:
    number = None if life.order is None else life.order.order
    return ProposalState(life.proposal, life.state, number, instead, so=ProposalState.NO_DOCUMENT)
