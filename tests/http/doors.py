"""Small applications of one handler, with everything around it that the service puts around its own."""

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import httpx
from litestar import Litestar

from service.domain.caller import Caller, Role
from service.http.entrance import entrance
from service.http.failures import HANDLERS
from service.http.keyring import Keyring
from service.http.limits import MAX_BYTES
from service.http.request import Asked
from service.http.request_log import logged
from service.ledger import Ledger

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
OURS = UUID("0198c1f2-0000-7000-8000-000000000001")
FOREIGN = UUID("0198c1f2-0000-7000-8000-000000000002")
KEY = UUID("0198c1f2-0000-7000-8000-0000000000a1")

Admit = Callable[[Asked], Awaitable[None]]


def a_caller(role: Role = "manager") -> Caller:
    """Make a caller whose key goes to every site."""
    return Caller(organisation=OURS, key=KEY, role=role)


def as_caller(caller: Caller) -> Admit:
    """Let everyone in as this caller."""

    async def admit(request: Asked) -> None:
        request.scope["auth"] = caller

    return admit


def an_app(*handlers: Any, admit: Admit | None = None, ledger: Ledger | None = None) -> Litestar:
    """Make an application of these handlers; if nothing else is said a manager asks."""
    app = Litestar(
        route_handlers=handlers,
        before_request=entrance(admit or as_caller(a_caller())),
        exception_handlers=HANDLERS,
        request_max_body_size=MAX_BYTES,
        openapi_config=None,
        logging_config=None,
    )
    app.state.ledger, app.state.keyring = ledger, Keyring()
    app.asgi_handler = logged(app.asgi_handler)
    return app


@asynccontextmanager
async def client(
    *handlers: Any, admit: Admit | None = None, ledger: Ledger | None = None
) -> AsyncIterator[httpx.AsyncClient]:
    """Give a client of such an application."""
    app: Any = an_app(*handlers, admit=admit, ledger=ledger)
    transport = httpx.ASGITransport(app)
    async with httpx.AsyncClient(transport=transport, base_url="http://ledger.test") as opened:
        yield opened
