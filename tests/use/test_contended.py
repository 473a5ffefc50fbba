"""Two processes record about the same unit at the same time: neither is sent away, however often it loses the race."""

import asyncio
from typing import Any
from uuid import UUID

import pytest

from service.ledger import Ledger
from service.recording import attempt
from service.recording.desk import Desk
from service.recording.tries import OPTIMISTIC
from service.store.append import Outcome
from service.store.connecting import connect, make_pool
from tests.oracle.firm import FIRM
from tests.store.racing import PATIENCE, blocked
from tests.use.conftest import NOW
from tests.use.posting import post
from tests.use.test_gathering import cleaned
from tests.use.test_waiting import named, unit


async def test_who_loses_the_race_keeps_others_out(
    ledger: Ledger, app_url: str, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After three decisions that a rival made stale, the fourth is taken with the rival outside, and stands."""
    await post(ledger, named([*FIRM, unit()]))
    rivals: list[asyncio.Task[Any]] = []
    plain = attempt.write
    async with make_pool(app_url, 1) as pool, await connect(owner_url) as watch:
        rival = Ledger(pool=pool, clock=lambda: NOW)
        async with pool.connection() as conn:
            pid = conn.info.backend_pid

        async def raced(desk: Desk) -> dict[UUID, Outcome]:
            """Let the rival record what ours has just decided without, if it can."""
            if desk.conn.info.backend_pid != pid:
                rivals.append(asyncio.create_task(post(rival, [cleaned(50 + len(rivals))])))
                await blocked(watch, pid, rivals[-1])
            return await plain(desk)

        monkeypatch.setattr(attempt, "write", raced)
        async with asyncio.timeout(PATIENCE):
            [receipt] = await post(ledger, [cleaned(1)])
            told = [(await task)[0] for task in rivals]

    assert (receipt.status, receipt.seq) == (201, len(FIRM) + 2 + OPTIMISTIC)
    assert [(one.status, one.seq) for one in told] == [
        *((201, len(FIRM) + 2 + nth) for nth in range(OPTIMISTIC)),
        (201, len(FIRM) + 3 + OPTIMISTIC),
    ]
