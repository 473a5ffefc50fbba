"""`Idempotency-Key`: a request that has a name is answered once, and then with the same bytes for seven days.

The header is a draft still (draft-ietf-httpapi-idempotency-key-header-07). What is posted is safe to repeat without it,
since events have ids; with it a repeat is told what the first was told, byte for byte. Requests of one name at once are
both answered with what the first of them to end was told, where the draft would refuse one of them with 409. Different
requests that are given one name at once may both be recorded; the later to end is told that the name was taken.
"""

import re
from collections.abc import Awaitable, Callable
from hashlib import sha256
from typing import Final

import msgspec
from litestar import Response

from service.domain.errors import BadParameter, InvalidKey, LedgerError
from service.http.answers import Answer
from service.http.body import Posted
from service.http.heads import IDEMPOTENCY_KEY
from service.http.preferences import Handling
from service.http.receipts import FAULTY
from service.http.request import Asked, ledger_of
from service.store.ended_keys import ended_keys
from service.store.give_answer import give_answer
from service.store.given_answer import KEPT, GivenAnswer, given_answer
from service.store.scope import writing

LONGEST: Final = 255
#: A string of RFC 9651 section 3.3.3, which the draft asks for; parameters mean nothing here.
NAME: Final = re.compile(r'[ ]*"((?:[ !#-\[\]-~]|\\["\\])*)"[ ]*(?:;.*)?')


class AnotherRequest(LedgerError):
    """The name of the request belongs to another one."""

    code = "another-request"

    def __init__(self) -> None:
        super().__init__(
            "This Idempotency-Key was sent with another request within seven days: give each request its own, and send "
            "it again only with the same body and preferences."
        )


def name_of(request: Asked) -> str | None:
    """Read the name of a request, None where it has none. Raises BadParameter."""
    text = request.headers.get(IDEMPOTENCY_KEY["name"])
    if text is None:
        return None
    read = NAME.fullmatch(text)
    name = re.sub(r"\\(.)", r"\1", read[1]) if read else ""
    if not 0 < len(name) <= LONGEST:
        detail = f'Expected 1 to {LONGEST} characters in quotes, such as "8e03978e-40d5-43e8-bc93-6894a57f9324".'
        raise BadParameter(IDEMPOTENCY_KEY["name"], detail)
    return name


def refuse_name(request: Asked) -> None:
    """Refuse a name for a stream, whose answer has no end that could be kept. Raises BadParameter."""
    if name_of(request) is not None:
        detail = "Lines are answered as they come: leave it out. The id of each event makes its repeat harmless."
        raise BadParameter(IDEMPOTENCY_KEY["name"], detail)


def fingerprint(said: Posted, how: Handling) -> bytes:
    """Give 32 bytes that stand for what is asked: the messages as they are sent, and how they are to be taken."""
    hashed = sha256(msgspec.json.encode([said.batch, *how]))
    for message in said.messages:
        hashed.update(len(message).to_bytes(8))
        hashed.update(message)
    return hashed.digest()


def fingerprint_at(request: Asked, said: msgspec.Struct) -> bytes:
    """Give 32 bytes that stand for what is asked at an address by a body that is no event."""
    return sha256(msgspec.json.encode([request.url.path, said])).digest()


async def answered_once(request: Asked, asked: bytes, work: Callable[[], Awaitable[Answer]]) -> Answer:
    """Answer a request by doing the work, or as the one of its name was answered. Raises AnotherRequest.

    What the service or its moment is at fault for is not kept, so that a repeat tries anew.
    """
    name = name_of(request)
    if name is None:
        return await work()
    ledger, caller = ledger_of(request), request.auth
    since = ledger.clock() - KEPT
    async with writing(ledger.pool, caller.organisation) as conn:
        if await ended_keys(conn, caller.organisation, {caller.key}, ledger.clock()):
            raise InvalidKey
        known = await given_answer(conn, caller.organisation, key=caller.key, name=name, since=since)
    if known is None:
        answered = await work()
        if request.scope["state"].get(FAULTY):
            return answered
        made = _told(asked, answered)
        async with writing(ledger.pool, caller.organisation) as conn:
            now = ledger.clock()
            await give_answer(conn, caller.organisation, made, key=caller.key, name=name, at=now, since=since)
            known = await given_answer(conn, caller.organisation, key=caller.key, name=name, since=since) or made
    if known.asked != asked:
        raise AnotherRequest
    headers = msgspec.json.decode(known.headers, type=dict[str, str])
    return Response(known.body, status_code=known.status, media_type=known.media, headers=headers)


def _told(asked: bytes, made: Answer) -> GivenAnswer:
    headers = {name: value for name, value in made.headers.items() if value is not None}
    return GivenAnswer(
        asked=asked,
        status=made.status_code or 200,
        media=str(made.media_type),
        headers=msgspec.json.encode(headers),
        body=made.content,
    )
