"""/v1/reorders: what is to be ordered, and how far it is; its approval, its placement, and its calling off."""

from typing import Annotated, Any

import msgspec
from litestar import get, post
from litestar.response import Stream
from msgspec import Meta
from msgspec.structs import asdict

from service import orders, reorders
from service.domain.ordering.asked import Approving, Cancelling, Placing
from service.domain.ordering.order import State
from service.domain.words import Ref
from service.http import columns, roles
from service.http.answers import JSON, Answer, answer
from service.http.body import read_as
from service.http.describing.plain_schemas import plain
from service.http.document_forms import document_answer
from service.http.heads import IDEMPOTENCY_KEY
from service.http.idempotency import answered_once, fingerprint_at
from service.http.negotiation import CSV, XML, media_of
from service.http.paging import Listed, list_answer, read_page
from service.http.path import FromRef
from service.http.position import position_of
from service.http.problems import refusal
from service.http.query import AtMoment, read
from service.http.receipts import kept, noted
from service.http.request import Asked, ledger_of
from service.orders import Done
from service.page import Page

GIVES = {201: "Recorded now.", 200: "Recorded before: nothing was done again."}


class ReordersQuestion(Listed, frozen=True, kw_only=True):
    """Which proposals."""

    site: Annotated[Ref | None, Meta(description="Proposals for this site.")] = None
    item: Annotated[Ref | None, Meta(description="Proposals of this item.")] = None
    state: Annotated[
        State | None, Meta(description="Proposals that are so far; those that have not ended, if left out.")
    ] = None


def taken(kind: type[msgspec.Struct], said: dict[str, str], example: dict[str, Any]) -> dict[str, Any]:
    """Describe a body."""
    ref = "#/components/schemas/{name}"
    told = plain(msgspec.json.schema_components([kind], ref_template=ref)[1][kind.__name__])
    properties = {name: {"description": said[name], **schema} for name, schema in told["properties"].items()}
    return {**told, "properties": properties, "examples": [example]}


APPROVED = taken(
    Approving,
    {
        "by": "Who approves it: a person's reference.",
        "quantity": "How much is approved, in the item's unit; what is proposed to be bought now, if left out.",
    },
    {"by": "p-1001", "quantity": 60.0},
)
PLACED = taken(
    Placing,
    {
        "by": "Who ordered it: a person's reference.",
        "order": "The number that the order has where it was placed.",
        "lines": "What was ordered, of the proposal's item in its unit; one line of as much as was approved, else of "
        "as much as is proposed, if left out.",
        "supplier": "The supplier, by its reference.",
        "expected_on": "The day the goods are expected.",
    },
    {"by": "p-1001", "order": "PO/2026/0071", "supplier": "sup-4", "expected_on": "2026-03-16"},
)
CANCELLED = taken(
    Cancelling,
    {
        "by": "Who calls it off: a person's reference.",
        "reason": "Why.",
        "order": "Which order, where the proposal was ordered more than once.",
    },
    {"by": "p-1001", "reason": "the supplier cannot deliver"},
)


@get("/reorders", may=roles.REORDERS, asks=ReordersQuestion, offers=(JSON, CSV), columns=columns.REORDER)
async def get_reorders(request: Asked) -> Answer | Stream:
    """List what is to be ordered, and what is on its way, by site and item.

    Nothing of it is stored: each proposal is worked out from stock, use, what is fitted in units, and orders. It keeps
    its id until somebody acts on it, whatever the quantity comes to; what is needed beyond that has another. A page may
    hold few proposals and still have a `next`, since it takes time to work them out; it holds none only where two
    hundred sites and items in a row need nothing.
    """

    async def page(question: ReordersQuestion) -> Page:
        return await reorders.listed(
            ledger_of(request),
            request.auth,
            site=question.site,
            item=question.item,
            state=question.state,
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, ReordersQuestion)
    return list_answer(request, question, "reorders", await page(question), page)


@get("/reorders/{ref:str}", may=roles.REORDERS, asks=AtMoment, offers=(JSON, XML, CSV), writes=True)
async def get_reorder(request: Asked, ref: FromRef) -> Answer:
    """Read one proposal: what it follows from, and what became of it, now or at another moment.

    A proposal that nobody knew of at the moment that is asked about is not found. Once it was approved or ordered it is
    told what it followed from then, by what was known just before.

    As `application/xml` or `text/csv` it is the order that it became, an Order of UBL 2.1 or the same as a table: once
    it is approved, under its own id and of the day of its approval; once it was placed, under its number and of that
    day. The buyer is the employer of the site, the supplier is told by its reference, and prices are those of the
    order. Of an order for several proposals it is the part for this one.
    """
    moments = asdict(read(request, AtMoment))
    if media_of(request) == JSON:
        return answer(await reorders.read(ledger_of(request), request.auth, ref, **moments))
    return document_answer(request, await reorders.ordered(ledger_of(request), request.auth, ref, **moments))


@get("/reorders/{ref:str}/receipt", may=roles.REORDERS, asks=AtMoment, offers=(XML, CSV), writes=True)
async def get_reorder_receipt(request: Asked, ref: FromRef) -> Answer:
    """Read what came of the order of a proposal, as a receipt for its supplier.

    A ReceiptAdvice of UBL 2.1 or the same as a table: a line for each receipt of its goods at its site, by lot. Its
    number is another once more has come, and it is not taken at `/v1/order-documents`, where it would come again.
    """
    moments = asdict(read(request, AtMoment))
    return document_answer(request, await reorders.received(ledger_of(request), request.auth, ref, **moments))


@post(
    "/reorders/{ref:str}/approval",
    may=roles.APPROVING,
    takes=APPROVED,
    said="Who approves it, and how much.",
    heads=(IDEMPOTENCY_KEY,),
    acts=True,
    gives=GIVES,
)
async def post_approval(request: Asked, ref: FromRef) -> Answer:
    """Approve a proposal.

    It is recorded as a `reorder-approved`, whose id follows from the proposal: of two at once one is recorded, and who
    approves the same is told of it. To approve another quantity the first approval is voided.
    """
    said = await read_as(request, Approving)

    async def done() -> Answer:
        return told(request, await orders.approve(ledger_of(request), request.auth, ref, said))

    return await answered_once(request, fingerprint_at(request, said), done)


@post(
    "/reorders/{ref:str}/placement",
    may=roles.ORDERING,
    takes=PLACED,
    said="What was ordered.",
    heads=(IDEMPOTENCY_KEY,),
    acts=True,
    gives=GIVES,
)
async def post_placement(request: Asked, ref: FromRef) -> Answer:
    """Say that a proposal was ordered, and under which number.

    It is recorded as an `order-placed`, whose id follows from the proposal, so that a proposal is ordered once: another
    order is answered 409 with the number of the first. What was not approved is approved by it where its sender may
    approve, or where it is within the policy `order-cap` and no more than is proposed: then a `reorder-approved` is
    recorded before it. No more may be ordered than was approved, in quantity or in money, but within those bounds.
    """
    said = await read_as(request, Placing)

    async def done() -> Answer:
        return told(request, await orders.place(ledger_of(request), request.auth, ref, said))

    return await answered_once(request, fingerprint_at(request, said), done)


@post(
    "/reorders/{ref:str}/cancellation",
    may=roles.ORDERING,
    takes=CANCELLED,
    said="Who calls it off, and why.",
    heads=(IDEMPOTENCY_KEY,),
    acts=True,
    gives=GIVES,
)
async def post_cancellation(request: Asked, ref: FromRef) -> Answer:
    """Call off a proposal's order: nothing more of it is expected.

    It is recorded as an `order-cancelled`. What has come stays, and the proposal ends as `short`; what is needed all
    the same is proposed anew, under an id of its own.
    """
    said = await read_as(request, Cancelling)

    async def done() -> Answer:
        return told(request, await orders.cancel(ledger_of(request), request.auth, ref, said))

    return await answered_once(request, fingerprint_at(request, said), done)


def told(request: Asked, done: Done) -> Answer:
    """Tell what was recorded last, or was before, and the proposal as it is now; else what it was refused for."""
    noted(request, done.receipts)
    refused = next((receipt for receipt in done.receipts if receipt.problem is not None), None)
    if refused is not None and refused.problem is not None:
        return refusal(refused.problem, kept(refused))
    receipt = done.receipts[-1]
    about = {"id": receipt.id, "seq": receipt.seq, "recorded_at": receipt.recorded_at, "outcome": receipt.outcome}
    location = {"Location": f"/v1/events/{receipt.id}"} if receipt.outcome == "recorded" else {}
    headers = location | position_of(done.receipts)
    return answer({**about, "proposal": done.proposal}, status=receipt.status, headers=headers)


HANDLERS = (get_reorders, get_reorder, get_reorder_receipt, post_approval, post_placement, post_cancellation)
