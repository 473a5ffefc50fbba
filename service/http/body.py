"""The body of a request: read within the limits, and taken apart into messages."""

import re
from collections.abc import AsyncIterator
from typing import NamedTuple, TypeVar

import msgspec
from litestar.exceptions import InternalServerException

from service.domain.codec import malformed, not_json, refuse_doubled
from service.domain.errors import BadParameter, LedgerError, UnsupportedMedia
from service.domain.unsaid import refuse_unsaid
from service.http.coding import coding_of, decoded
from service.http.limits import MAX_BYTES, MAX_LEVELS, check_count, check_levels, too_deep, too_many_bytes
from service.http.request import Asked

MARK = re.compile(rb'"(?:[^"\\]|\\.)*"|[\[\]{},]', re.DOTALL)
OPENING, CLOSING = (b"[", b"{"), (b"]", b"}")
ARRAY = re.compile(rb"[ \t\n\r]*\[")
T = TypeVar("T")

JSON_TYPES = ("application/json", "")


class IncompleteBody(LedgerError):
    """The sender hung up, or sent less than it announced."""

    code = "incomplete-body"

    def __init__(self) -> None:
        super().__init__("The request ended before its body did: send it again.")


class Posted(NamedTuple):
    """The messages of one request, each the text of one JSON value; `batch` if they came as an array."""

    messages: list[bytes]
    batch: bool


async def read(request: Asked) -> bytes:
    """Read a JSON body whole.

    Raises UnsupportedMedia, TooLarge for what is over the limit before or after its coding is undone, BrokenCoding, and
    IncompleteBody for a client that hung up.
    """
    check_media(request)
    return await whole(request)


async def whole(request: Asked) -> bytes:
    """Read a body whole, of whatever form. Raises TooLarge, BrokenCoding, UnsupportedMedia and IncompleteBody."""
    if (request.content_length or 0) > MAX_BYTES:
        raise too_many_bytes()
    coded = within(sent(request), MAX_BYTES)
    return b"".join([piece async for piece in within(decoded(coded, coding_of(request)), MAX_BYTES)])


async def sent(request: Asked) -> AsyncIterator[bytes]:
    """Give a body as it comes. Raises IncompleteBody for a client that hung up."""
    try:
        async for piece in request.stream():
            yield piece
    except InternalServerException as error:  # litestar's only word for a body that ends before its end
        raise IncompleteBody from error


async def within(pieces: AsyncIterator[bytes], limit: int) -> AsyncIterator[bytes]:
    """Give a body as long as it is within a limit. Raises TooLarge."""
    size = 0
    async for piece in pieces:
        size += len(piece)
        if size > limit:
            raise too_many_bytes()
        yield piece


def refuse_body(request: Asked, detail: str) -> None:
    """Refuse a body where none is read, lest its sender believe it was (RFC 9112 section 6: how one is announced)."""
    if request.content_length or "transfer-encoding" in request.headers:
        raise BadParameter("body", detail)


def check_media(request: Asked) -> None:
    """Refuse a body that is not sent as JSON; a body of no stated type is taken for JSON."""
    if request.content_type[0] not in JSON_TYPES:
        detail = f"Send JSON: 'Content-Type: application/json', not {request.content_type[0]!r}."
        raise UnsupportedMedia(detail)


async def read_message(request: Asked) -> bytes:
    """Read a body that is one message."""
    body = await read(request)
    check_levels(body)
    return body


async def read_as(request: Asked, wanted: type[T]) -> T:
    """Read a body that is no event. Raises NotJson or Malformed."""
    body = await read_message(request)
    refuse_doubled(body)
    try:
        told = msgspec.json.decode(body, type=wanted)
    except msgspec.ValidationError as error:
        raise malformed(error, body, wanted) from error
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise not_json(error) from error
    refuse_unsaid(told, body)
    return told


async def posted(request: Asked) -> Posted:
    """Read the messages of a request. A body that is no JSON is one message, which its recording refuses."""
    body = await read(request)
    messages = elements(body) if ARRAY.match(body) else None
    found = Posted([body], batch=False) if messages is None else Posted(messages, batch=True)
    check_count(len(found.messages))
    for message in found.messages:
        check_levels(message)
    return found


def elements(body: bytes) -> list[bytes] | None:
    """Cut a JSON array into its elements, whatever is wrong within one of them; None if it is no array to its end."""
    try:
        return [bytes(element) for element in msgspec.json.decode(body, type=list[msgspec.Raw])]
    except RecursionError as error:
        raise too_deep() from error
    except (msgspec.DecodeError, UnicodeDecodeError):
        return cut(body)


def cut(body: bytes) -> list[bytes] | None:
    """Cut an array at the commas between its elements, looking at brackets and strings alone."""
    text = body.strip()
    depth, edges = 0, []
    for found in MARK.finditer(text):
        mark = found[0]
        depth += (mark in OPENING) - (mark in CLOSING)
        if depth > MAX_LEVELS + 1:
            raise too_deep()
        if (mark == b"," and depth == 1) or (depth == 0 and mark in CLOSING):
            edges.append(found.start())
        if depth == 0 and found.end() != len(text):
            return None
    if depth or not edges:
        return None
    starts = [1, *(edge + 1 for edge in edges[:-1])]
    pieces = [text[start:end].strip() for start, end in zip(starts, edges, strict=True)]
    return [] if pieces == [b""] else pieces
