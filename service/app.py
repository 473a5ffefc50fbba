"""The one file that knows every layer: settings in, an application out."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import NamedTuple

import structlog
from litestar import Litestar

from service.http.addresses import as_written
from service.http.entrance import entrance
from service.http.failures import HANDLERS
from service.http.keyring import Keyring
from service.http.limits import MAX_BYTES
from service.http.manners import mannerly
from service.http.methods import with_all_methods
from service.http.quota import Quota
from service.http.request_log import logged
from service.http.routes import ROUTES
from service.http.trace import traced
from service.ledger import Ledger
from service.pushing.dispatcher import dispatching
from service.pushing.outlet import Outlet
from service.pushing.sending import Resolve, Way
from service.settings import Settings
from service.store.connecting import Pool, make_pool
from service.store.guard import guard

log = structlog.get_logger()


def now() -> datetime:
    """Read the clock of this machine."""
    return datetime.now(UTC)


async def check(pool: Pool) -> None:
    """Make sure that the database is one to serve from. Raises StoreError, after a line in the log."""
    try:
        async with pool.connection() as conn:
            await guard(conn)
    except Exception as error:  # whatever it is, the log tells it before the server ends over it
        log.critical("not started", exc_info=error)
        raise


def let_go(app: Litestar) -> None:
    """Answer whoever waits for events, and begin to send none: a service that stops keeps nobody."""
    app.state.ledger.heads.end()
    app.state.dispatcher.end()


class Wiring(NamedTuple):
    """What an application runs by; how it finds the address of a receiver (None: as this machine does)."""

    settings: Settings
    clock: Callable[[], datetime] = now
    resolve: Resolve | None = None


@asynccontextmanager
async def running(app: Litestar) -> AsyncIterator[None]:
    """Open the database that an application is wired to. Raises StoreError where it is not one to serve from."""
    settings, clock, resolve = app.state.wiring
    async with make_pool(settings.database_url or "", settings.pool_size) as pool:
        await check(pool)
        app.state.ledger = Ledger(pool=pool, clock=clock)
        app.state.keyring = Keyring()
        app.state.label_address = settings.label_address
        app.state.quota = Quota(settings.requests_a_minute) if settings.requests_a_minute else None
        way = Way(private=settings.webhook_private, seconds=settings.webhook_seconds, resolve=resolve)
        async with dispatching(app.state.ledger, Outlet(settings.webhook_key, way)) as app.state.dispatcher:
            yield
        await app.state.ledger.gathering.finished()
        await app.state.ledger.heads.finished()


def create_app(wiring: Wiring) -> Litestar:
    """Make the application; the database is opened when it starts, by what it is wired to then."""
    app = Litestar(
        route_handlers=ROUTES,
        before_request=entrance(),
        exception_handlers=HANDLERS,
        lifespan=[running],
        request_max_body_size=MAX_BYTES,
        openapi_config=None,
        logging_config=None,
    )
    app.state.wiring = wiring
    # Around the framework's own layers: a wrong address reaches none of those that a route has.
    app.asgi_handler = traced(logged(mannerly(with_all_methods(as_written(app.asgi_handler)))))
    return app
