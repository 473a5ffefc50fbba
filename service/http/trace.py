"""Trace context (W3C Recommendation, Trace Context Level 1): the trace that a request belongs to.

A request without a trace, or with one that cannot be read, begins a new one. The answer names the trace and this
service's part of it in `traceresponse` (Level 2, a draft), and every line of the log that belongs to it names it too.
"""

import re
from collections.abc import Sequence
from secrets import token_hex
from typing import NamedTuple

from litestar.enums import ScopeType
from litestar.types import ASGIApp, Message, Receive, Scope, Send
from structlog.contextvars import bound_contextvars

PARENT = re.compile(rb"([0-9a-f]{2})-([0-9a-f]{32})-([0-9a-f]{16})-([0-9a-f]{2})(-.*)?", re.DOTALL)
CURRENT = b"00"
INVALID = b"ff"
SAMPLED = b"01"


class Trace(NamedTuple):
    """A trace, this service's part of it, and whether it is recorded by whoever began it."""

    trace: str
    part: str
    flags: str

    def written(self) -> bytes:
        """Write the header of the answer."""
        return f"00-{self.trace}-{self.part}-{self.flags}".encode()


def trace_of(headers: Sequence[bytes]) -> Trace:
    """Go on with the trace of a request's `traceparent` headers, or begin one: two of them are as good as none."""
    found = PARENT.fullmatch(headers[0].strip(b" \t")) if len(headers) == 1 else None
    if found is None or not followed(found):
        return Trace(token_hex(16), token_hex(8), "00")
    flags = int(found[4], 16) & int(SAMPLED, 16)
    return Trace(found[2].decode(), token_hex(8), f"{flags:02x}")


def followed(parent: re.Match[bytes]) -> bool:
    """Say whether a header of the right form may be followed; of a version to come, its first four fields."""
    version, trace, span, _, more = parent.groups()
    if version == INVALID or not trace.strip(b"0") or not span.strip(b"0"):
        return False
    return version != CURRENT or more is None


def traced(app: ASGIApp) -> ASGIApp:
    """Wrap the application, its log included."""

    async def tracing(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await app(scope, receive, send)
            return
        trace = trace_of([value for name, value in scope["headers"] if name == b"traceparent"])

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], (b"traceresponse", trace.written())]
            await send(message)

        with bound_contextvars(trace=trace.trace):
            await app(scope, receive, sending)

    return tracing
