"""Small applications of one handler, with everything around it that the service puts around its own."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import httpx
from litestar import Litestar
from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from service.domain.caller import Caller, Role
from service.http.failures import HANDLERS
from service.http.limits import MAX_BYTES
from service.http.query import refuse_parameters
from service.http.request_log import logged
from service.ledger import Ledger

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
OURS = UUID("0198c1f2-0000-7000-8000-000000000001")
FOREIGN = UUID("0198c1f2-0000-7000-8000-000000000002")
KEY = UUID("0198c1f2-0000-7000-8000-0000000000a1")

Connection = ASGIConnection[Any, Any, Any, Any]


def a_caller(role: Role = "manager") -> Caller:
    """Make a caller whose key goes to every site."""
    return Caller(organisation=OURS, key=KEY, role=role)


def as_caller(caller: Caller) -> Callable[[Connection, BaseRouteHandler], None]:
    """Make a guard that lets everyone in as this caller."""

    def guard(connection: Connection, _: BaseRouteHandler) -> None:
        connection.scope["auth"] = caller

    return guard


def an_app(*handlers: Any, guards: Any = None, ledger: Ledger | None = None) -> Litestar:
    """Make an application of these handlers; without guards a manager asks."""
    app = Litestar(
        route_handlers=handlers,
        guards=guards or [as_caller(a_caller())],
        before_request=refuse_parameters,
        exception_handlers=HANDLERS,
        request_max_body_size=MAX_BYTES,
        openapi_config=None,
        logging_config=None,
    )
    app.state.ledger = ledger
    app.asgi_handler = logged(app.asgi_handler)
    return app


@asynccontextmanager
async def client(*handlers: Any, guards: Any = None, ledger: Ledger | None = None) -> AsyncIterator[httpx.AsyncClient]:
    """Give a client of such an application."""
    app: Any = an_app(*handlers, guards=guards, ledger=ledger)
    transport = httpx.ASGITransport(app)
    async with httpx.AsyncClient(transport=transport, base_url="http://ledger.test") as opened:
        yield opened
