"""Health."""

import asyncio
from datetime import UTC, datetime

from service.http.auth import admit
from service.http.health import HANDLERS
from service.ledger import Ledger
from service.store.connecting import make_pool
from tests.http.doors import client


async def test_a_process_that_answers_is_live() -> None:
    """Live needs no key and no database."""
    async with client(*HANDLERS, admit=admit) as http:
        answered = await http.get("/health/live")

    assert (answered.status_code, answered.json()) == (200, {"status": "live"})


async def test_a_process_whose_database_answers_is_ready(ledger: Ledger) -> None:
    """Ready needs the database, and no key."""
    async with client(*HANDLERS, admit=admit, ledger=ledger) as http:
        answered = await http.get("/health/ready")

    assert (answered.status_code, answered.json()) == (200, {"status": "ready"})


async def test_a_process_without_its_database_is_not_ready() -> None:
    """A database that cannot be reached makes it 503 within seconds, and to be asked again."""
    async with make_pool("postgresql://nobody@127.0.0.1:1/none", 1) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        async with client(*HANDLERS, admit=admit, ledger=ledger) as http, asyncio.timeout(10):
            answered = await http.get("/health/ready")

    assert (answered.status_code, answered.json()["type"]) == (503, "/problems/unavailable")
