"""Dispatcher: send the events that webhooks wait for, as long as the process serves.

The log is the outbox: nothing is queued, and no append pays for it. A process looks every few seconds for webhooks that
no process serves, and has a line for each that it takes; a line waits for the log to grow as who follows the feed does.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from typing import Final
from uuid import UUID, uuid4

import structlog

from service.ledger import Ledger
from service.pushing.line import Line, Name
from service.pushing.outlet import Outlet
from service.store.errors import AWAY
from service.store.webhooks_unserved import webhooks_unserved

LOOK: Final = 5.0
"""Seconds between two looks for webhooks that no process serves."""
DESKS: Final = 2
"""How many connections all lines of a process use at a time: the others are for who asks."""

log = structlog.get_logger()


class Dispatcher:
    """The lines of this process."""

    def __init__(self, ledger: Ledger, outlet: Outlet) -> None:
        self.outlet = outlet
        self._ledger = ledger
        self._by = uuid4()
        self._desks = asyncio.Semaphore(DESKS)
        self._lines: dict[Name, tuple[Line, asyncio.Task[None]]] = {}
        self._nudged = asyncio.Event()

    def nudge(self, organisation: UUID, webhook: UUID) -> None:
        """Have a webhook seen to at once, since this process changed it."""
        line = self._lines.get(Name(organisation, webhook))
        (self._nudged if line is None else line[0].nudged).set()

    def end(self) -> None:
        """Begin nothing any more; what is on its way comes to its end. Heads have ended before."""
        self._nudged.set()
        for line, _ in self._lines.values():
            line.nudged.set()

    async def run(self) -> None:
        """Serve what nobody serves, until the service stops; give when every attempt is recorded."""
        while self.outlet.key is not None and not self._ledger.heads.ended:
            self._nudged.clear()
            with suppress(*AWAY):  # whoever asks finds out by itself that the database is away
                await self._take_up()
            with suppress(TimeoutError):
                async with asyncio.timeout(LOOK):
                    await self._nudged.wait()
        await asyncio.gather(*(task for _, task in self._lines.values()))

    async def _take_up(self) -> None:
        """Begin a line for each webhook that has none in any process."""
        async with self._desks, self._ledger.pool.connection() as conn:
            found = await webhooks_unserved(conn)
        for name in (Name(*one) for one in found):
            if name not in self._lines:
                line = Line(self._ledger, self.outlet, self._desks, self._by, name)
                self._lines[name] = line, asyncio.create_task(self._kept(name, line))

    async def _kept(self, name: Name, line: Line) -> None:
        """Run a line to its end; whatever it fails at, the webhook is taken up again at the next look."""
        try:
            await line.run()
        except AWAY as error:
            log.warning("database unavailable", exc_info=error)
        except Exception as error:  # unforeseen: it is told here, and no other webhook's line ends over it
            whose = {"organisation": str(name.organisation), "webhook": str(name.webhook)}
            log.error("webhook failed", **whose, exc_info=error)  # noqa: TRY400 - told by place and class, as any failure
        finally:
            del self._lines[name]


@asynccontextmanager
async def dispatching(ledger: Ledger, outlet: Outlet) -> AsyncIterator[Dispatcher]:
    """Give the dispatcher, at work as long as the block lasts; the heads of the ledger end before the block does."""
    dispatcher = Dispatcher(ledger, outlet)
    working = asyncio.create_task(dispatcher.run())
    try:
        yield dispatcher
    finally:
        ledger.heads.end()
        dispatcher.end()
        await working
