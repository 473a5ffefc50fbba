"""The service behind its own server, over real connections."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime
from typing import NamedTuple

import uvicorn

from service.app import Wiring, create_app, let_go, now
from service.ledger import Ledger
from service.serving import Drained, listening
from service.settings import Settings


class Listening(NamedTuple):
    """A service that listens: its port, its server, and what it works with."""

    port: int
    server: Drained
    ledger: Ledger

    @property
    def address(self) -> str:
        """Give its address."""
        return f"http://127.0.0.1:{self.port}"

    async def waiting(self, places: int) -> None:
        """Wait until so many long polls and streams are open."""
        while self.ledger.heads.waiting != places:  # noqa: ASYNC110 - the service tells nobody of its places
            await asyncio.sleep(0)


@asynccontextmanager
async def listening_service(app_url: str) -> AsyncIterator[int]:
    """Serve on a port of this machine, and give the port."""
    async with listening_to(app_url) as service:
        yield service.port


@asynccontextmanager
async def listening_to(app_url: str, *, clock: Callable[[], datetime] = now) -> AsyncIterator[Listening]:
    """Serve on a port of this machine, by a clock of its own."""
    started = asyncio.Event()
    app = create_app(Wiring(Settings(database_url=app_url, pool_size=4), clock))
    config = uvicorn.Config(app, http="httptools", ws="none", lifespan="on", log_config=None, access_log=False)
    server = Drained(config, started.set, draining=lambda: let_go(app))
    with listening("127.0.0.1", 0, go_on=False) as door:
        serving = asyncio.create_task(server.serve(sockets=[door]))
        await started.wait()
        yield Listening(door.getsockname()[1], server, app.state.ledger)
        server.should_exit = True
        await serving
