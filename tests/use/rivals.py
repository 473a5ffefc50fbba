"""Two processes that record at the same time: whenever ours comes to a step, a rival records something before it."""

import asyncio
from collections.abc import Iterable
from typing import Any, Protocol

import pytest

from service.ledger import Ledger
from service.record import Receipt
from service.recording import attempt
from service.recording.desk import Desk
from service.store.connecting import connect, make_pool
from tests.oracle.posting import Posted
from tests.store.racing import PATIENCE, blocked
from tests.use.conftest import NOW
from tests.use.posting import post


class Race(Protocol):
    """Post ours, and each time that it comes to a step the next of theirs; give our receipt, and those of the rival."""

    async def __call__(
        self, ours: Posted, theirs: Iterable[Posted], before: str = "write"
    ) -> tuple[Receipt, list[Receipt]]:
        """Name the step of an attempt: by then ours is decided, unless another is named."""
        ...


@pytest.fixture
def race(ledger: Ledger, app_url: str, owner_url: str, monkeypatch: pytest.MonkeyPatch) -> Race:
    """Give a race: what ours has just decided without is recorded meanwhile, if the rival can, else it waits."""

    async def run(ours: Posted, theirs: Iterable[Posted], before: str = "write") -> tuple[Receipt, list[Receipt]]:
        coming, rivals = iter(theirs), list[asyncio.Task[list[Receipt]]]()
        plain = getattr(attempt, before)
        async with make_pool(app_url, 1) as pool, await connect(owner_url) as watch:
            rival = Ledger(pool=pool, clock=lambda: NOW)
            async with pool.connection() as conn:
                pid = conn.info.backend_pid

            async def raced(desk: Desk) -> Any:
                one = None if desk.conn.info.backend_pid == pid else next(coming, None)
                if one is not None:
                    rivals.append(asyncio.create_task(post(rival, [one])))
                    await blocked(watch, pid, rivals[-1])
                return await plain(desk)

            monkeypatch.setattr(attempt, before, raced)
            async with asyncio.timeout(PATIENCE):
                [receipt] = await post(ledger, [ours])
                return receipt, [(await task)[0] for task in rivals]

    return run
