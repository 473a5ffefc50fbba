"""GET /v1/events: the feed, events in the order they were recorded."""

import re

from litestar import get

from service import assess
from service.http import columns, roles
from service.http.answers import JSON, Answer
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.request import Asked, ledger_of
from service.page import number

SEQ = re.compile(r"[0-9]{1,18}")


class FeedQuestion(Listed, frozen=True, kw_only=True):
    """`after` is `next` of the page before, or a seq."""


@get("/events", may=roles.EVENTS, asks=FeedQuestion, offers=(JSON, CSV), columns=columns.EVENT)
async def get_feed(request: Asked) -> Answer:
    """Read events in the order they were recorded; `next` is always given, so that a reader can come back for more."""
    question = read_page(request, FeedQuestion, plain=SEQ)
    page = await assess.feed(ledger_of(request), request.auth, after=number(question.after), limit=question.limit)
    return list_answer(request, question, "events", page)


HANDLERS = (get_feed,)
