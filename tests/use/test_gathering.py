"""Messages that come together are recorded together, and nobody's fate hangs on another's."""

import asyncio
from collections.abc import AsyncIterator, Coroutine, Iterable
from contextlib import asynccontextmanager
from dataclasses import replace
from typing import Any
from uuid import UUID

import msgspec
import pytest
from psycopg import AsyncConnection
from psycopg.errors import QueryCanceled
from structlog.testing import capture_logs

from service import gathering
from service.domain.caller import Caller
from service.domain.errors import InvalidKey, Overloaded
from service.gathering import MOST_WAITING
from service.ledger import Ledger
from service.problems import FAILED
from service.record import record
from service.recording.incoming import Receipt
from service.store.connecting import connect
from service.store.make_key import NewKey, make_key
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from tests.oracle.firm import FIRM
from tests.oracle.posting import Posted, moment, say
from tests.use.conftest import LONG_AGO
from tests.use.posting import ORGANISATION, caller_of, log_of, post, post_together
from tests.use.test_waiting import named, unit

HOLD = "SELECT pg_advisory_lock(ledger.lock_key(%s))"
RELEASE = "SELECT pg_advisory_unlock(ledger.lock_key(%s))"
STUMBLE = """
CREATE FUNCTION ledger.stumble() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.id = '0198c1f2-7a10-7c3e-9b55-000000000105' THEN
        RAISE EXCEPTION 'stumbled' USING ERRCODE = '22000';
    END IF;
    RETURN NEW;
END
$$
"""


def late(numbers: Iterable[int]) -> list[Posted]:
    """Clean the unit so often, all of it told a day later."""
    return [replace(cleaned(number), received_at=moment("2026-03-03 12:00")) for number in numbers]


def cleaned(number: int) -> Posted:
    """Clean the unit, each time another minute."""
    ident = f"0198c1f2-7a10-7c3e-9b55-{100 + number:012d}"
    when = f"2026-03-02 {7 + number // 60:02d}:{number % 60:02d}"
    return say("cleaned", when, asset="W-1", scope="unit", method="wiped", id=ident)


@asynccontextmanager
async def held_up(owner_url: str) -> AsyncIterator[AsyncConnection]:
    """Let nobody record anything for the organisation as long as the block lasts."""
    async with await connect(owner_url) as conn:
        await conn.execute(HOLD, [ORGANISATION])
        try:
            yield conn
        finally:
            await conn.execute(RELEASE, [ORGANISATION])


async def gathered(work: list[Coroutine[Any, Any, list[Receipt]]]) -> list[asyncio.Task[list[Receipt]]]:
    """Start senders one after the other, each up to where it waits."""
    tasks = []
    for one in work:
        tasks.append(asyncio.create_task(one))
        await asyncio.sleep(0)
    return tasks


async def test_what_comes_together_is_recorded_together(ledger: Ledger, owner_url: str) -> None:
    """Of 21 senders those who come while others are at work share one moment, in the order in which they came."""
    await post(ledger, named([*FIRM, unit()]))
    async with held_up(owner_url):
        tasks = await gathered([post(ledger, [cleaned(number)]) for number in range(21)])
    receipts = [receipt for task in tasks for receipt in await task]
    assert [receipt.status for receipt in receipts] == [201] * 21
    assert [receipt.seq for receipt in receipts] == [len(FIRM) + 2 + number for number in range(21)]
    assert len({receipt.recorded_at for receipt in receipts}) == 2


async def test_each_sees_what_was_accepted_before_it(ledger: Ledger, owner_url: str) -> None:
    """Of two that send the same event in one group the second is answered with the first's result."""
    await post(ledger, named([*FIRM, unit()]))
    async with held_up(owner_url):
        tasks = await gathered([post(ledger, [cleaned(number)]) for number in (0, 1, 1)])
    _, [first], [second] = [await task for task in tasks]
    assert (first.status, second.status, second.seq) == (201, 200, first.seq)


async def test_each_is_shown_what_its_own_key_may_see(ledger: Ledger, owner_url: str) -> None:
    """Of two that send the same event in one group a key of other sites than the unit's is shown less of the unit."""
    there = replace(unit(), message=unit().message | {"site": "mesa"})
    await post(ledger, named([*FIRM, there]))
    said = replace(cleaned(1), message=cleaned(1).message | {"site": "works"})
    async with held_up(owner_url):
        tasks = await gathered([post(ledger, [one]) for one in (cleaned(0), said, replace(said, key="lead"))])
    _, [office], [lead] = [await task for task in tasks]
    assert office.asset == {
        "tag": "W-1", "phase": "in-store", "standing": "out-of-scope", "do_not_use": False, "reasons": [],
    }  # fmt: skip
    assert lead.asset == office.asset | {"phase": None, "standing": None}


async def stumbling(owner_url: str, sqlstate: str = "22000") -> None:
    """Have the database stumble over the sixth cleaning."""
    async with await connect(owner_url) as owner:
        await owner.execute(STUMBLE.replace("22000", sqlstate).encode())
        await owner.execute(
            "CREATE TRIGGER stumbles BEFORE INSERT ON ledger.event FOR EACH ROW EXECUTE FUNCTION ledger.stumble()"
        )


@pytest.mark.parametrize("sqlstate", ["22000", "54000", "XX000"])
async def test_one_that_fails_fails_alone(ledger: Ledger, owner_url: str, sqlstate: str) -> None:
    """The database stumbles over one of nine: eight are recorded, and only the sender of the ninth is told of it.

    54000 is a limit that the one message passes, of a class that a lost connection is of, too.
    """
    await post(ledger, named([*FIRM, unit()]))
    await stumbling(owner_url, sqlstate)
    async with held_up(owner_url):
        tasks = await gathered([post(ledger, [cleaned(number)]) for number in range(9)])
    with capture_logs() as logs:
        receipts = [receipt for task in tasks for receipt in await task]
    assert [receipt.status for receipt in receipts] == [201] * 5 + [500] + [201] * 3
    assert receipts[5].problem == FAILED
    assert [(line["event"], line["exc_info"].sqlstate) for line in logs] == [("message failed", sqlstate)]
    assert len(await log_of(ledger)) == len(FIRM) + 1 + 8


async def test_one_that_fails_takes_no_answer_from_its_batch(ledger: Ledger, owner_url: str) -> None:
    """Of a batch with a message that the database stumbles over every other has its own receipt."""
    await post(ledger, named([*FIRM, unit()]))
    await stumbling(owner_url)
    receipts = await post_together(ledger, late(range(9)))
    assert [receipt.status for receipt in receipts] == [201] * 5 + [500] + [201] * 3
    assert receipts[5].id == UUID("0198c1f2-7a10-7c3e-9b55-000000000105")


async def test_what_the_moment_is_to_blame_for_is_told_of_all(ledger: Ledger, owner_url: str) -> None:
    """Where the database ends what it does, a batch is not divided, and its sender is told to come again."""
    await post(ledger, named([*FIRM, unit()]))
    await stumbling(owner_url, "57014")
    with pytest.raises(QueryCanceled):
        await post_together(ledger, late(range(9)))
    assert len(await log_of(ledger)) == len(FIRM) + 1


async def test_what_a_sender_left_behind_is_recorded(ledger: Ledger, owner_url: str) -> None:
    """Senders who hang up while their events wait find them recorded when they send again."""
    await post(ledger, named([*FIRM, unit()]))
    async with held_up(owner_url):
        tasks = await gathered([post(ledger, [cleaned(number)]) for number in range(4)])
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    again = [receipt for number in range(4) for receipt in await post(ledger, [cleaned(number)])]
    assert [receipt.outcome for receipt in again] == ["repeated"] * 4


async def test_the_queue_is_bounded(ledger: Ledger, owner_url: str) -> None:
    """Whoever comes when too much waits is sent away with nothing taken; one batch is taken however large it is."""
    await post(ledger, named([*FIRM, unit()]))
    batch = late(range(600))
    async with held_up(owner_url):
        tasks = await gathered([post_together(ledger, batch) for _ in range(1 + MOST_WAITING // 600)])
        with pytest.raises(Overloaded):
            await post_together(ledger, batch)
    statuses = [{receipt.status for receipt in await task} for task in tasks]
    assert statuses == [{201}, *[{200}] * (MOST_WAITING // 600)]


@pytest.mark.parametrize("bound", ["MOST_BYTES", "MOST_BYTES_OF_ALL"])
async def test_the_queue_is_bounded_by_bytes(
    ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch, bound: str
) -> None:
    """Bytes that wait count until they are worked on, those of senders that are gone, too; then there is room again."""
    await post(ledger, named([*FIRM, unit()]))
    size = len(msgspec.json.encode(cleaned(0).message))
    monkeypatch.setattr(gathering, bound, 3 * size)
    async with held_up(owner_url):
        tasks = await gathered([post(ledger, [cleaned(number)]) for number in range(3)])
        tasks[2].cancel()
        with pytest.raises(Overloaded):
            await post(ledger, [cleaned(3)])
    statuses = [(await task)[0].status for task in tasks[:2]]
    await ledger.gathering.finished()
    assert (statuses, ledger.gathering.size) == ([201, 201], 0)
    assert (await post(ledger, [cleaned(3)]))[0].status == 201
    assert {one.status for one in await post_together(ledger, late(range(4, 9)))} == {201}


async def test_organisations_do_not_wait_for_each_other(ledger: Ledger, owner_url: str) -> None:
    """While one organisation is held up, another's events are recorded."""
    await post(ledger, named([*FIRM, unit()]))
    other = await another_firm(owner_url)
    site = named(FIRM)[0]
    async with held_up(owner_url):
        [waiting] = await gathered([post(ledger, [cleaned(0)])])
        told = msgspec.json.encode(site.message)
        [receipt] = await record(ledger, other, [told], received_at=site.received_at, sent_at=None)
        assert (receipt.status, receipt.seq, waiting.done()) == (201, 1, False)
    assert (await waiting)[0].status == 201


async def another_firm(owner_url: str) -> Caller:
    """Make another organisation, and give its administrator."""
    caller = Caller(organisation=UUID(int=11), key=UUID(int=12), role="administrator")
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, caller.organisation)
        await make_organisation(owner, caller.organisation, "Another invented firm", LONG_AGO)
        key = NewKey(
            id=caller.key,
            name="other",
            role=caller.role,
            sites=None,
            secret_hash=b"\x0b" * 32,
            created_at=LONG_AGO,
            expires_at=None,
        )
        await make_key(owner, caller.organisation, key)
    return caller


async def test_a_key_that_ends_while_its_events_wait_records_nothing(ledger: Ledger, owner_url: str) -> None:
    """The key is looked at again as the events are recorded; those of other keys are recorded."""
    await post(ledger, named([*FIRM, unit()]))
    async with held_up(owner_url) as owner:
        first, second, third = await gathered(
            [
                post(ledger, [cleaned(0)]),
                post(ledger, [replace(cleaned(1), key="lead")]),
                post(ledger, [cleaned(2)]),
            ]
        )
        async with owner.transaction():
            await set_organisation(owner, ORGANISATION)
            await owner.execute("UPDATE ledger.api_key SET revoked_at = now() WHERE id = %s", [caller_of("lead").key])
    assert [(await one)[0].status for one in (first, third)] == [201, 201]
    with pytest.raises(InvalidKey):
        await second
