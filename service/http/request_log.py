"""One line in the log per request: what it did, how it ended, how long it took. No person, tag, text or key in it."""

import time

import structlog
from litestar.enums import HttpMethod, ScopeType
from litestar.types import ASGIApp, HTTPScope, Message, Receive, Scope, Send
from structlog.contextvars import bound_contextvars

from service.http.request_ids import request_id_of

METHODS = frozenset(method.value for method in HttpMethod)

log = structlog.get_logger()


def logged(app: ASGIApp) -> ASGIApp:
    """Wrap the whole application, the finding of routes included, so that no answer goes without its line and id."""

    async def logging(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await app(scope, receive, send)
            return
        started, status, request_id = time.perf_counter(), 0, request_id_of(scope["headers"])

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


def told(scope: HTTPScope) -> dict[str, object]:
    """Tell what the request was and did: the route's pattern, never the address itself, and no word of the sender's."""
    caller = scope.get("auth")
    who = (
        {}
        if caller is None
        else {"organisation": str(caller.organisation), "key": str(caller.key), "role": caller.role}
    )
    noted = scope.get("state", {}).get("noted", {})
    method = scope["method"] if scope["method"] in METHODS else "other"
    return {"method": method, "route": scope.get("path_template"), **who, **noted}
