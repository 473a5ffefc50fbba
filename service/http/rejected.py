"""/v1/rejected: the messages that were not accepted, and what is done about them."""

from typing import Annotated
from uuid import UUID

import msgspec
from litestar import get, post
from litestar.params import FromPath
from litestar.response import Stream
from msgspec import Meta

from service import assess, resolve
from service.domain.words import Reason
from service.http import columns, roles
from service.http.answers import JSON, Answer, answer
from service.http.body import read_as, refuse_body
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.receipts import receipt_answer
from service.http.request import Asked, ledger_of
from service.page import Page
from service.store.rejected_messages import State


class RejectedQuestion(Listed, frozen=True, kw_only=True):
    """Which messages."""

    status: Annotated[State | None, Meta(description="Messages in this state alone.")] = None


class Dismissal(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Why a message may be forgotten."""

    reason: Reason


AS_IT_CAME = (
    "A message is tried again as it came: send no body. A correction is posted to /v1/events, with the same id, and "
    "this message is then dismissed."
)
DISMISSAL = {
    "type": "object",
    "properties": {"reason": {"description": "Why it may be forgotten.", **msgspec.json.schema(Reason)}},
    "required": ["reason"],
    "additionalProperties": False,
}


@get("/rejected", may=roles.REJECTED, asks=RejectedQuestion, offers=(JSON, CSV), columns=columns.REJECTED)
async def get_rejected(request: Asked) -> Answer | Stream:
    """List the messages that were not accepted, newest first."""

    async def page(question: RejectedQuestion) -> Page:
        return await assess.rejected(
            ledger_of(request), request.auth, after=question.after, limit=question.limit, status=question.status
        )

    question = read_page(request, RejectedQuestion)
    return list_answer(request, question, "rejected", await page(question), page)


@get("/rejected/{rejected_id:str}", may=roles.REJECTED)
async def get_rejected_one(request: Asked, rejected_id: FromPath[UUID]) -> Answer:
    """Read one message that was not accepted, with its body and its problem."""
    return answer(await assess.rejected_one(ledger_of(request), request.auth, rejected_id))


@post(
    "/rejected/{rejected_id:str}/retry",
    may=roles.SETTLING,
    records=True,
    settles=True,
    gives={201: "Recorded.", 200: "A repeat."},
)
async def retry_rejected(request: Asked, rejected_id: FromPath[UUID]) -> Answer:
    """Try to record a message once more, as it came; a correction is posted to `/v1/events`, with the same id."""
    refuse_body(request, AS_IT_CAME)
    return receipt_answer(request, await resolve.retry(ledger_of(request), request.auth, rejected_id))


@post("/rejected/{rejected_id:str}/dismissal", may=roles.SETTLING, takes=DISMISSAL, settles=True)
async def dismiss_rejected(request: Asked, rejected_id: FromPath[UUID]) -> Answer:
    """Settle a message for good without recording it, and say why."""
    dismissal = await read_as(request, Dismissal)
    return answer(await resolve.dismiss(ledger_of(request), request.auth, rejected_id, dismissal.reason))


HANDLERS = (get_rejected, get_rejected_one, retry_rejected, dismiss_rejected)
