"""One line in the log per request: what it did, how it ended, how long it took. No person, tag, text or key in it."""

import re
import time
from uuid import uuid4

import structlog
from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPScope, Message, Receive, Scope, Send
from structlog.contextvars import bound_contextvars

#: What a sender may name its request: enough for a UUID or a trace, nothing that breaks a line of the log.
REQUEST_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")

log = structlog.get_logger()


def logged(app: ASGIApp) -> ASGIApp:
    """Wrap the whole application, the finding of routes included, so that no answer goes without its line and id."""

    async def logging(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await app(scope, receive, send)
            return
        started, status, request_id = time.perf_counter(), 0, request_id_of(scope)

        async def sending(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [*message["headers"], (b"x-request-id", request_id)]
            await send(message)

        with bound_contextvars(request_id=request_id.decode()):
            try:
                await app(scope, receive, sending)
            finally:
                milliseconds = round((time.perf_counter() - started) * 1000, 1)
                log.info("request", **told(scope), status=status, milliseconds=milliseconds)

    return logging


def request_id_of(scope: HTTPScope) -> bytes:
    """Take the sender's name for the request, or give it one."""
    sent = next((value for name, value in scope["headers"] if name == b"x-request-id"), b"")
    return sent if REQUEST_ID.fullmatch(sent) else str(uuid4()).encode()


def told(scope: HTTPScope) -> dict[str, object]:
    """Tell what the request was and did: the route's pattern, never the address itself."""
    caller = scope.get("auth")
    who = (
        {}
        if caller is None
        else {"organisation": str(caller.organisation), "key": str(caller.key), "role": caller.role}
    )
    noted = scope.get("state", {}).get("noted", {})
    return {"method": scope["method"], "route": scope.get("path_template"), **who, **noted}
