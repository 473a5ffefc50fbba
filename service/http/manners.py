"""What every answer says beside its own: who may keep it, what it depends on, and that it is what it says it is."""

import re
from collections.abc import Iterable

from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPScope, Message, Receive, Scope, Send

from service.http.lifecycle import ending

#: RFC 9111 section 5.2.2: kept by whoever asked alone, and asked after again before it is used again.
CACHE = (b"cache-control", b"private, no-cache")
TABLE = b"text/csv"
PLAIN = re.compile(r"[A-Za-z0-9._-]{1,60}")
"""What any system takes for the name of a file."""
ALWAYS = (
    (b"vary", b"Accept, Authorization"),
    (b"x-content-type-options", b"nosniff"),
)


def mannerly(app: ASGIApp) -> ASGIApp:
    """Wrap the application: an answer keeps what its route says of these itself."""

    async def behaving(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await app(scope, receive, send)
            return

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                said = {name.lower() for name, _ in message["headers"]}
                more = [pair for pair in (CACHE, *ALWAYS) if pair[0] not in said]
                message["headers"] = [
                    *message["headers"],
                    *more,
                    *saved_as(scope, message["headers"]),
                    *of_request(scope),
                ]
            await send(message)

        await app(scope, receive, sending)

    return behaving


def saved_as(scope: HTTPScope, headers: Iterable[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    """Name the file that a table is saved as, after the last part of its address (RFC 6266)."""
    if not any(name.lower() == b"content-type" and value.startswith(TABLE) for name, value in headers):
        return []
    last = scope["path"].rpartition("/")[2]
    name = last if PLAIN.fullmatch(last) else "table"
    return [(b"content-disposition", f'inline; filename="{name}.csv"'.encode())]


def of_request(scope: HTTPScope) -> list[tuple[bytes, bytes]]:
    """Give the headers that come of the key's quota and of the route's age."""
    more = scope.get("state", {}).get("headers", {}) | ending(scope)
    return [(name.lower().encode(), text.encode()) for name, text in more.items()]
