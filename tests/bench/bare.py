"""What the service is compared with: a handler by hand that inserts the same row, with the same indexes, and commits.

It judges nothing, checks no key, and knows no unit: one prepared statement a request.
"""

import gc
import os
import socket
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from uuid import UUID

import msgspec
from litestar import Litestar, Request, Response, post
from litestar.datastructures import State
from psycopg_pool import AsyncConnectionPool

from service.serving import NEW_OBJECTS, run, serve

TABLE = """
CREATE TABLE bare_event (LIKE ledger.event INCLUDING ALL);
CREATE SEQUENCE bare_seq;
"""
INSERT = """
INSERT INTO bare_event (organisation, seq, id, kind, kind_version, instant, by_ref, site, device, device_seq,
    received_at, recorded_at, key, imported, body, leaf, conflicts)
VALUES (%s, nextval('bare_seq'), %s, %s, 1, %s, %s, %s, %s, %s, %s, %s, %s, false, %s, %s, '[]')
"""
ORGANISATION, KEY = UUID(int=1), UUID(int=2)


class Event(msgspec.Struct):
    """What of an event stands in columns."""

    id: UUID
    kind: str
    occurred_at: datetime
    by: str
    site: str | None = None
    device: str | None = None
    device_seq: int | None = None


@post("/v1/events")
async def post_event(request: Request[object, object, State]) -> Response[bytes]:
    """Insert the event and commit."""
    body = await request.body()
    event, now = msgspec.json.decode(body, type=Event), datetime.now(UTC)
    row = (
        *(ORGANISATION, event.id, event.kind, event.occurred_at, event.by, event.site, event.device, event.device_seq),
        *(now, now, KEY, body, bytes(32)),
    )
    pool: AsyncConnectionPool = request.app.state.pool
    async with pool.connection() as conn:
        await conn.execute(INSERT, row, prepare=True)
    return Response(b'{"outcome":"recorded"}', status_code=201, media_type="application/json")


@post("/nothing")
async def post_nothing(request: Request[object, object, State]) -> Response[bytes]:
    """Read the body, and answer."""
    await request.body()
    return Response(b'{"outcome":"recorded"}', status_code=201, media_type="application/json")


def app_of(url: str, size: int) -> Litestar:
    """Wire the handler to a pool of so many connections."""

    @asynccontextmanager
    async def database(app: Litestar) -> AsyncIterator[None]:
        async with AsyncConnectionPool(url, kwargs={"autocommit": True}, min_size=size, max_size=size) as pool:
            app.state.pool = pool
            yield

    return Litestar([post_event, post_nothing], lifespan=[database], openapi_config=None)


def from_environment() -> Litestar:
    """Wire the handler for a server that asks for it, and look for cycles as seldom as the service does."""
    app = app_of(os.environ["DATABASE_URL"], int(os.environ["POOL"]))
    gc.collect()
    gc.freeze()
    gc.set_threshold(NEW_OBJECTS)
    return app


if __name__ == "__main__":
    door = socket.socket(fileno=int(sys.argv[1]))
    run(serve(app_of(os.environ["DATABASE_URL"], int(sys.argv[2])), door, drain_seconds=1))
