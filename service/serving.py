"""Serve an ASGI application in this process, with a clean end: first HTTP drains, then the application closes.

The first Ctrl-C (or request to end) lets requests in flight finish; the second ends at once. The database is stopped
by whoever started it, after this returns.
"""

import asyncio
import gc
import signal
import socket
import sys
import threading
from collections.abc import Awaitable, Callable, Coroutine
from types import FrameType
from typing import Any, TypeVar

import uvicorn
from typing_extensions import override

T = TypeVar("T")
PORTS_TRIED = 100
NEW_OBJECTS = 50_000
"""How many new objects there are before Python looks for cycles among them; requests make few cycles, if any."""
KEEP_ALIVE_SECONDS = 75
"""How long an idle connection is kept: longer than proxies keep theirs (60 s is usual), so that none closes in use."""


def spare_collections() -> None:
    """Look for cycles seldom, and never among what was made by now: modules, routes and their like live on."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(NEW_OBJECTS)


class NoPort(Exception):
    """No port could be listened on."""

    def __init__(self, host: str, first: int, last: int) -> None:
        super().__init__(
            f"{host} has no free port from {first} to {last}" if last > first else f"{host}:{first} is taken"
        )


class NotServed(Exception):
    """The application did not start; its own log says why."""


def listening(host: str, port: int, *, go_on: bool) -> socket.socket:
    """Listen on the port; with `go_on` on the next one that is free when it is taken. Raises NoPort."""
    last = min(port + PORTS_TRIED, 65535) if go_on and port else port
    for candidate in range(port, last + 1):
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        try:
            return socket.create_server((host, candidate), family=family, backlog=2048)
        except OSError:
            continue
    raise NoPort(host, port, last)


async def _nobody() -> None:
    """Tell nobody."""


def _nothing() -> None:
    """Do nothing."""


class Drained(uvicorn.Server):
    """A server that tells when it is ready, and before it ends: at the first signal when all is answered, or at once.

    What is told that it ends (`ending`) can still ask it, and is waited for; from then on (`draining`) what is in
    flight is to come to its end.
    """

    def __init__(
        self,
        config: uvicorn.Config,
        ready: Callable[[], None],
        ending: Callable[[], Awaitable[None]] = _nobody,
        draining: Callable[[], None] = _nothing,
    ) -> None:
        super().__init__(config)
        self.ready = ready
        self.ending = ending
        self.draining = draining

    @override
    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.started:
            spare_collections()
            self.ready()

    @override
    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        await self.ending()
        self.draining()
        await super().shutdown(sockets=sockets)

    async def end_after(self, until: Awaitable[None]) -> None:
        """End when something comes, with what is in flight answered."""
        await until
        self.should_exit = True

    @override
    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal; unlike the one replaced, it is not raised again afterwards, so that the caller goes on."""
        self.force_exit = self.should_exit
        self.should_exit = True


async def serve(
    app: Callable[..., Any],
    door: socket.socket,
    *,
    drain_seconds: int,
    ready: Callable[[], None] = lambda: None,
    ending: Callable[[], Awaitable[None]] = _nobody,
    draining: Callable[[], None] = _nothing,
    until: Awaitable[None] | None = None,
) -> None:
    """Serve until a signal ends it, or what is awaited comes, which counts as the first.

    Raises NotServed when the application did not start, KeyboardInterrupt when the second signal came.
    """
    config = uvicorn.Config(
        app,
        http="httptools",
        ws="none",
        lifespan="on",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=KEEP_ALIVE_SECONDS,
        timeout_graceful_shutdown=drain_seconds,
    )
    server = Drained(config, ready, ending, draining)
    waiting = None if until is None else asyncio.create_task(server.end_after(until))
    await server.serve(sockets=[door])
    if waiting is not None:
        waiting.cancel()
    if not server.started:
        raise NotServed
    if server.force_exit:
        raise KeyboardInterrupt


def run(work: Coroutine[Any, Any, T]) -> T:
    """Run async work to its end on the loop this system and its drivers do best with.

    Asked to end by the system, the work is cancelled, as asyncio has it for Ctrl-C, and SystemExit comes of that.
    """
    with asyncio.Runner(loop_factory=_loop) as runner:
        return runner.run(_until_asked_to_end(work))


async def _until_asked_to_end(work: Coroutine[Any, Any, T]) -> T:
    """Let a first request to end cancel the work: what is raised in a finaliser, where code may just be, is lost."""
    task = asyncio.current_task()
    if task is None or threading.current_thread() is not threading.main_thread():
        return await work
    loop, asked = asyncio.get_running_loop(), False

    def end(sign: int, _frame: FrameType | None) -> None:
        nonlocal asked
        if asked:
            sys.exit(128 + sign)
        asked = True
        task.cancel()
        loop.call_soon_threadsafe(_nothing)  # wakes a loop that waits

    before = signal.signal(signal.SIGTERM, end)
    try:
        made = await work
    except asyncio.CancelledError:
        if asked:
            sys.exit(128 + signal.SIGTERM)
        raise
    finally:
        signal.signal(signal.SIGTERM, before)
    if asked:  # as it ended, so that nothing was left to cancel
        sys.exit(128 + signal.SIGTERM)
    return made


def _loop() -> asyncio.AbstractEventLoop:
    """Make the loop: uvloop, on Windows the selector loop, since psycopg cannot use the proactor's."""
    if sys.platform == "win32":
        return asyncio.SelectorEventLoop()
    import uvloop  # noqa: PLC0415 - does not exist on Windows

    return uvloop.new_event_loop()
