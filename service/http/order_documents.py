"""/v1/order-documents: what suppliers and stores say of orders, as UBL 2.1 (XML) or as a table (CSV)."""

from typing import Annotated, Any, Final

import msgspec
from anyio import to_thread
from litestar import post
from msgspec import Meta
from msgspec.structs import asdict

from service import documents
from service.documents import Sending, Taken
from service.domain.money import priced
from service.domain.words import Ref
from service.http import roles
from service.http.answers import Answer, answer
from service.http.body import whole
from service.http.describing.document_examples import EXAMPLES
from service.http.document_forms import READERS, form_of
from service.http.heads import DATE, IDEMPOTENCY_KEY, PREFER
from service.http.idempotency import answered_once, fingerprint_at
from service.http.position import position_of
from service.http.preferences import Handling, handling, sent_at
from service.http.query import read
from service.http.receipts import noted, result
from service.http.request import Asked, ledger_of
from service.outbound.ubl.documents import DespatchAdvice, OrderResponse, ReceiptAdvice
from service.outbound.ubl.events.answered import Answer as Meant
from service.outbound.ubl.events.answered import Said
from service.outbound.ubl.events.on_the_way import OnTheWay
from service.outbound.ubl.events.received import Arrival
from service.outbound.ubl.reading import Reading
from service.outbound.ubl.which import Answer as Document

WORDS: Final[dict[type[Document], str]] = {
    OrderResponse: "order-response",
    DespatchAdvice: "despatch-advice",
    ReceiptAdvice: "receipt-advice",
}
GIVES = {
    200: "An order response or a despatch advice: what it says, held against the order. Nothing is recorded.",
    207: "A receipt advice: one result for each `stock-received`, in the order of its lines, each with the status it "
    "would have had alone.",
}


class OrderDocumentQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """Who received goods, and where."""

    by: Annotated[
        Ref | None, Meta(description="Who received the goods: a person's reference. A receipt advice needs it.")
    ] = None
    site: Annotated[
        Ref | None,
        Meta(description="The site that a receipt is for, where it names no place of delivery; else it must be that."),
    ] = None


class Sent(msgspec.Struct, frozen=True):
    """All that is asked by a request, so that another of its name is told from it."""

    question: OrderDocumentQuestion
    how: Handling
    media: str
    body: bytes


@post(
    "/order-documents",
    may=roles.ORDERING,
    asks=OrderDocumentQuestion,
    documents=EXAMPLES,
    said="One document; of a table, the columns say which of the three it is.",
    heads=(DATE, IDEMPOTENCY_KEY, PREFER),
    gives=GIVES,
)
async def post_order_document(request: Asked) -> Answer:
    """Take in what a supplier says to an order or has sent, or what a store received.

    A receipt advice is recorded as `stock-received` events, whose ids follow from its site, supplier, number and lines:
    a receipt that is sent again is answered `repeated`, and one that says something else under its old number is
    refused line by line (`content-clash`). Stock grows by what was received without what was refused. An order response
    and a despatch advice are held against the order and told, and nothing is recorded. What is wrong with a document is
    told all at once, each fault with an XPath or a row and a column, and nothing of it is taken then. Elements of UBL
    that no field is made of are passed over and listed.
    """
    ledger, received_at, media = ledger_of(request), ledger_of(request).clock(), form_of(request)
    question, how, clock = read(request, OrderDocumentQuestion), handling(request), sent_at(request)
    body = await whole(request)
    sending = Sending(question.by, question.site, received_at, clock, *how)

    async def done() -> Answer:
        reading = await to_thread.run_sync(READERS[media], body)
        return told(request, reading, await documents.take(ledger, request.auth, reading, sending))

    return await answered_once(request, fingerprint_at(request, Sent(question, how, media, body)), done)


def told(request: Asked, reading: Reading[Document], taken: Taken) -> Answer:
    """Tell what a document says, and what became of what was to be recorded of it."""
    head = {
        "document": WORDS[type(reading.document)],
        "id": reading.document.id,
        "orders": [{"order": order, "proposals": proposals} for order, proposals in taken.orders],
    }
    tail = {"passed_over": reading.passed_over, "more_passed_over": reading.more}
    noted(request, taken.receipts)
    match taken.meaning:
        case Arrival(lines=lines, missed=missed):
            results = [{"line": line} | result(one) for line, one in zip(lines, taken.receipts, strict=True)]
            body = {**head, "results": results, "missed": missed, **tail}
            return answer(body, status=207, headers=position_of(taken.receipts))
        case Meant() as meant:
            return answer({**head, "response": response(meant), "despatch": None, **tail})
        case OnTheWay() as despatch:
            return answer({**head, "response": None, "despatch": despatch, **tail})


def response(meant: Meant) -> dict[str, Any]:
    """Tell what a response makes of an order, its prices as text with the decimals of their currency."""
    return {**asdict(meant), "lines": [{**asdict(one), "price": price_of(one)} for one in meant.lines]}


def price_of(line: Said) -> str | None:
    """Give the price of one unit; None where none was said."""
    return None if line.price is None or line.currency is None else priced(line.price, line.currency)


HANDLERS = (post_order_document,)
