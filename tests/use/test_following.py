"""The log followed as it grows: what is held in memory, and what is asked of the database meanwhile."""

import asyncio
from typing import Any

import pytest
from psycopg import OperationalError

from service import follow, heads
from service.assessing.feed import read_feed
from service.domain.errors import TooManyWaiting
from service.follow import Followed, page, pages
from service.heads import PLACES
from service.ledger import Ledger
from service.store.head_seq import head_seq
from tests.oracle.firm import FIRM
from tests.use.posting import ORGANISATION, caller_of, post
from tests.use.test_waiting import named, unit

PATIENCE = 20


@pytest.fixture
async def firm(ledger: Ledger) -> Ledger:
    """Give a log of the firm's first events."""
    await post(ledger, named(FIRM))
    return ledger


class Counting:
    """Counts calls of a function, and passes them on."""

    def __init__(self, called: Any) -> None:
        self.calls = 0
        self._called_again = asyncio.Event()
        self._called = called

    async def __call__(self, *given: Any, **named: Any) -> Any:
        """Count a call."""
        self.calls += 1
        self._called_again.set()
        return await self._called(*given, **named)

    async def reached(self, calls: int) -> None:
        """Wait until it was called so often."""
        while self.calls < calls:
            self._called_again.clear()
            await self._called_again.wait()


async def test_a_stream_reads_a_page_when_it_is_asked_for(firm: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """No page is read before the one before it was taken, however much there is."""
    reads = Counting(read_feed)
    monkeypatch.setattr(follow, "read_feed", reads)
    monkeypatch.setattr(follow, "PAGE", 1)
    stream = pages(firm, caller_of("office"), Followed(), after=0)
    taken = [(len((await anext(stream)).items), reads.calls) for _ in range(3)]
    await stream.aclose()

    assert taken == [(1, 1), (1, 2), (1, 3)]
    assert firm.heads.waiting == 0


async def test_all_who_wait_share_one_look(firm: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many wait for a log, the database is asked once how far it goes, and each is told."""
    looks = Counting(head_seq)
    monkeypatch.setattr(heads, "head_seq", looks)
    reached = [firm.heads.reach(firm.pool, ORGANISATION, seq, PATIENCE) for seq in (1, 2, len(FIRM)) * 20]

    assert await asyncio.gather(*reached) == [True] * 60
    assert looks.calls == 1


async def test_who_waits_is_woken_by_this_process_at_once(firm: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the next look would come too late, what is recorded here is found all the same."""
    looks = Counting(head_seq)
    monkeypatch.setattr(heads, "head_seq", looks)
    monkeypatch.setattr(heads, "LONGEST", 10 * PATIENCE)
    async with asyncio.timeout(PATIENCE):
        waiting = asyncio.create_task(firm.heads.reach(firm.pool, ORGANISATION, len(FIRM) + 1, 10 * PATIENCE))
        await looks.reached(1)
        firm.heads._watches[ORGANISATION].pause = 10 * PATIENCE
        await looks.reached(2)
        await post(firm, named([unit()]))
        firm.heads.recorded(ORGANISATION)
        assert await waiting


async def test_nobody_looks_where_nobody_waits(firm: Ledger) -> None:
    """When the last who waited is gone, nothing is asked of the database any more."""
    assert not await firm.heads.reach(firm.pool, ORGANISATION, len(FIRM) + 1, 0.01)
    async with asyncio.timeout(PATIENCE):
        await firm.heads.finished()

    assert firm.heads.watched == 0


async def test_a_database_that_is_away_is_asked_again(firm: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who waits goes on waiting while the database does not answer, and is told once it does."""
    answers: list[int | OperationalError] = [OperationalError("away"), OperationalError("away"), len(FIRM)]

    async def looked(*_: Any) -> int:
        answer = answers.pop(0)
        if isinstance(answer, Exception):
            raise answer
        return answer

    monkeypatch.setattr(heads, "head_seq", looked)
    assert await firm.heads.reach(firm.pool, ORGANISATION, len(FIRM), PATIENCE)
    assert answers == []


async def test_what_has_ended_waits_for_nothing(firm: Ledger) -> None:
    """After the end nobody begins to wait: a page is what there is, a stream has one page at most."""
    firm.heads.end()
    async with asyncio.timeout(PATIENCE):
        found = await page(firm, caller_of("office"), Followed(), after=len(FIRM), limit=10, seconds=30)
        streamed = [one async for one in pages(firm, caller_of("office"), Followed(), after=0)]

    assert (found.items, streamed) == ([], [])


async def test_a_place_is_given_back(firm: Ledger) -> None:
    """A key may hold so many places and no more; whatever ends what held one, it is free again."""
    streams = [pages(firm, caller_of("office"), Followed(), after=0) for _ in range(PLACES)]
    for stream in streams:
        await anext(stream)
    with pytest.raises(TooManyWaiting):
        await anext(pages(firm, caller_of("office"), Followed(), after=0))
    await anext(pages(firm, caller_of("lead"), Followed(), after=0))
    await streams[0].aclose()
    await anext(pages(firm, caller_of("office"), Followed(), after=0))
