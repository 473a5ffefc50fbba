"""The service behind its own server, over real connections."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import uvicorn

from service.app import create_app
from service.serving import Drained, listening
from service.settings import Settings


@asynccontextmanager
async def listening_service(app_url: str) -> AsyncIterator[int]:
    """Serve on a port of this machine, and give the port."""
    started = asyncio.Event()
    app = create_app(Settings(database_url=app_url, pool_size=4))
    config = uvicorn.Config(app, http="httptools", ws="none", lifespan="on", log_config=None, access_log=False)
    server = Drained(config, started.set)
    with listening("127.0.0.1", 0, go_on=False) as door:
        serving = asyncio.create_task(server.serve(sockets=[door]))
        await started.wait()
        yield door.getsockname()[1]
        server.should_exit = True
        await serving
