"""Lists, page by page: `after` and `limit` in, `next` in the body and a Link header out (RFC 8288).

A sheet (a table, an EPCIS document) has no place for `next`, and who opens it sees no header: so it has all there is,
unless a `limit` is asked for. It is sent as it is read, so that few rows are in memory however many there are; if
something fails meanwhile the connection breaks, since a sheet that ends early would pass for a whole one.
"""

import re
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from datetime import datetime
from typing import Annotated, TypeVar
from urllib.parse import urlencode

import msgspec
from litestar.response import Stream
from litestar.status_codes import HTTP_200_OK
from msgspec import Meta

from service.domain.errors import BadCursor
from service.domain.words import Instant
from service.http.answers import Answer, answer
from service.http.cursors import Cursor, seal, unseal
from service.http.methods import BODILESS
from service.http.query import pairs, read
from service.http.request import Asked
from service.http.sheets import Sheet, sheet_of
from service.page import Page

DEFAULT_LIMIT = 100
MAX_LIMIT = 500
ROWS_AT_ONCE = 5_000
"""How many rows of a table are in memory at a time: some lists are found anew for each page."""

After = Annotated[str, Meta(max_length=1000, description="Where to go on: `next` of the page before.")]
Limit = Annotated[
    int,
    Meta(
        ge=1,
        description=f"How many items a page may have; more than {MAX_LIMIT} are never given. A table (`text/csv`) has "
        "all there are where this is left out.",
    ),
]


class Listed(msgspec.Struct, frozen=True, kw_only=True):
    """What every list can be asked."""

    after: After | None = None
    limit: Limit = DEFAULT_LIMIT


L = TypeVar("L", bound=Listed)


def read_page(request: Asked, asks: type[L], *, plain: re.Pattern[str] | None = None, said: object = None) -> L:
    """Read the question of a list, `after` opened to the plain key and the first page's moments filled in.

    A key of the form `plain` may be given as it is. `said` is what the body asks, if there is one.
    """
    question = read(request, asks)
    limit = ROWS_AT_ONCE if is_whole(request) else min(question.limit, MAX_LIMIT)
    if question.after is None or (plain and plain.fullmatch(question.after)):
        return msgspec.structs.replace(question, limit=limit)
    cursor = unseal(question.after, question_of(request, said), request.auth.organisation)
    try:
        shared = {name: msgspec.convert(cursor.pins[name], Instant) for name in cursor.pins if hasattr(question, name)}
    except msgspec.ValidationError as error:
        raise BadCursor from error
    return msgspec.structs.replace(question, limit=limit, after=cursor.key, **shared)


def list_answer(
    request: Asked,
    question: L,
    name: str,
    page: Page,
    read_on: Callable[[L], Awaitable[Page]],
    *,
    said: object = None,
) -> Answer | Stream:
    """Answer with a page, its items under `name`; as a sheet, with all that follow."""
    sheet = sheet_of(request)
    if sheet is not None and is_whole(request) and has_more(page):
        return Stream(whole(request, sheet, question, page, read_on), media_type=sheet.media, status_code=HTTP_200_OK)
    token, headers = None, {}
    if page.next is not None:
        cursor = Cursor(page.next, pins(question, page.about))
        token = seal(cursor, question_of(request, said), request.auth.organisation)
        headers = {"Link": link(request, token)}
    if sheet is not None:
        return Answer(sheet.begun(page) + sheet.end, media_type=sheet.media, headers=headers, status_code=HTTP_200_OK)
    return answer({**page.about, name: page.items, "next": token}, headers=headers)


def is_whole(request: Asked) -> bool:
    """Say whether all rows are asked for."""
    return sheet_of(request) is not None and "limit" not in dict(pairs(request))


def has_more(page: Page) -> bool:
    """Say whether there is something behind a page; a feed leads on where there is nothing yet, and says so."""
    return page.next is not None and bool(page.about.get("more", True))


async def whole(
    request: Asked, sheet: Sheet, question: L, page: Page, read_on: Callable[[L], Awaitable[Page]]
) -> AsyncIterator[bytes]:
    """Write a sheet to its end; of a HEAD what is read already."""
    yield sheet.begun(page)
    while has_more(page) and not request.scope["state"].get(BODILESS):
        moments = {name: page.about[name] for name in pins(question, page.about)}
        page = await read_on(msgspec.structs.replace(question, after=page.next, **moments))
        yield sheet.more(page)
    yield sheet.end


def pins(question: Listed, about: Mapping[str, object]) -> dict[str, str]:
    """Find the moments that the following pages share: those that can be asked for and that the answer names."""
    named = {name: about.get(name) for name in question.__struct_fields__}
    return {name: moment.isoformat() for name, moment in named.items() if isinstance(moment, datetime)}


def question_of(request: Asked, said: object = None) -> str:
    """Name the question apart from where its list goes on and how it is asked, and the reach of the key that asks it.

    What the body asks, `said`, is a part of it, however it is spaced. A new key of the same role and sites goes on
    where the old one was. A route that `goes_on` where another list was takes the cursors of that.
    """
    asked = sorted(pair for pair in pairs(request) if pair[0] not in {"after", "limit", "wait"})
    path = request.route_handler.opt.get("goes_on", request.scope["path"])
    sites = ["all"] if request.auth.sites is None else sorted(request.auth.sites)
    body = "" if said is None else msgspec.json.encode(said).decode()
    return f"{path}?{urlencode(asked)} {' '.join([request.auth.role, *sites])}{body}"


def link(request: Asked, token: str) -> str:
    """Point to the next page, relative to this service's address."""
    kept = [pair for pair in pairs(request) if pair[0] != "after"]
    return f'<{request.scope["path"]}?{urlencode([*kept, ("after", token)])}>; rel="next"'
