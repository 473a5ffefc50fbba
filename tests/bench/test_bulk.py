from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from psycopg import AsyncConnection

from service.ledger import Ledger
from service.rebuild import differences
from service.recording.admission import read
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Sender
from service.store.connecting import connect, make_pool
from service.store.dump_derived import DUMPS, dump_derived
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from service.verify import Fault, Verified, verify
from tests.bench.scale.bulk import TABLES, Loaded, load
from tests.bench.scale.sampling import differing
from tests.bench.scale.shape import Shape
from tests.databases.clone import Database, Template, cloned
from tests.http.doors import KEY, OURS
from tests.http.keys import Keys

UNTIL = datetime(2026, 3, 2, 12, tzinfo=UTC)
SMALL = Shape(events=3000, units=60, sites=8, until=UNTIL, long=400, late=0.05, voided=0.02)
CATALOGUE = """
SELECT c.relname, c.relforcerowsecurity,
    ARRAY (SELECT pg_get_indexdef(i.indexrelid) FROM pg_index i WHERE i.indrelid = c.oid ORDER BY 1),
    ARRAY (
        SELECT conname || ' ' || pg_get_constraintdef(k.oid) FROM pg_constraint k WHERE k.conrelid = c.oid ORDER BY 1),
    ARRAY (SELECT tgenabled::text || pg_get_triggerdef(t.oid) FROM pg_trigger t WHERE t.tgrelid = c.oid ORDER BY 1)
FROM pg_class c WHERE c.relnamespace = 'ledger'::regnamespace AND c.relkind = 'r' ORDER BY 1
"""
LOG = "SELECT body, received_at, sent_at FROM ledger.event ORDER BY seq"
ANSWERED = "SELECT seq, id, kind, instant, received_at, conflicts FROM ledger.event ORDER BY seq"


@pytest.fixture
async def loaded(database: Database) -> Loaded:
    """Load the small shape, which has late events, voidings and a unit with a long history."""
    await begin(database)
    return await load(database.owner_url, SMALL, (OURS, KEY))


async def begin(database: Database) -> None:
    """Make the organisation and its key."""
    async with await connect(database.owner_url) as owner:
        async with owner.transaction():
            await set_organisation(owner, OURS)
            await make_organisation(owner, OURS, "The firm of the benchmark", datetime(2025, 1, 1, tzinfo=UTC))
        await Keys(owner).make("administrator", key=KEY)


async def asked(conn: AsyncConnection, query: Any) -> list[Any]:
    """Ask as our organisation."""
    async with conn.transaction():
        await set_organisation(conn, OURS)
        return await (await conn.execute(query)).fetchall()


async def derived(conn: AsyncConnection) -> dict[str, list[tuple[str, str]]]:
    """Give everything that is derived."""
    async with conn.transaction():
        await set_organisation(conn, OURS)
        return {table: [row async for row in dump_derived(conn, OURS, table)] for table in DUMPS}


def cut(rows: list[Any], size: int) -> Iterator[list[Any]]:
    """Cut rows into batches."""
    yield from (rows[start : start + size] for start in range(0, len(rows), size))


async def test_data_has_its_shape(loaded: Loaded, owner_connection: AsyncConnection) -> None:
    """There are about as many events as asked for, late ones, voidings, a long history, and a site with a fifth."""
    rows = await asked(
        owner_connection,
        """
        SELECT count(*), count(*) FILTER (WHERE received_at > instant + interval '1 minute'),
            count(*) FILTER (WHERE kind = 'voided'), count(DISTINCT kind) > 25,
            (SELECT count(*) FROM ledger.event_subject WHERE subject = 'asset:FX-000060'),
            (SELECT count(*) FROM ledger.unit WHERE site = 'site-0000'),
            count(*) FILTER (WHERE conflicts <> '[]')
        FROM ledger.event
        """,
    )
    events, late, voided, many_kinds, long, at_first_site, contradicting = rows[0]
    assert (events, many_kinds) == (loaded.events, True)
    assert 2900 <= events <= 3100
    assert 60 <= late <= 200
    assert voided >= 20
    assert long == 400
    assert 10 <= at_first_site <= 15
    assert contradicting >= 5


async def test_the_log_is_true(loaded: Loaded, owner_connection: AsyncConnection) -> None:
    """Verification finds no fault: numbers without gaps, moments, hashes, columns and sealed texts."""
    faults: list[Fault] = []
    async with owner_connection.transaction():
        await set_organisation(owner_connection, OURS)
        verified = await verify(owner_connection, OURS, faults.append)
    assert faults == []
    assert verified == Verified(events=loaded.events, texts=verified.texts, faults=0)
    assert verified.texts > 20


async def test_a_rebuild_finds_no_difference(loaded: Loaded, owner_connection: AsyncConnection) -> None:
    """What the bulk path derives is what a rebuild derives; so says the check of a sample, too."""
    assert loaded.units == 61
    async with owner_connection.transaction():
        await set_organisation(owner_connection, OURS)
        assert await differences(owner_connection, OURS, lambda *_: None) == []
        assert await differing(owner_connection, OURS, every=3) == (21, [])


async def test_a_sample_tells_what_differs(loaded: Loaded, owner_connection: AsyncConnection) -> None:
    """A row that was changed is named."""
    assert loaded.units == 61
    async with owner_connection.transaction():
        await set_organisation(owner_connection, OURS)
        await owner_connection.execute("UPDATE ledger.unit SET site = 'site-0001' WHERE tag = 'FX-000000'")
        checked, found = await differing(owner_connection, OURS, every=60)
    assert checked == 2
    assert found == ["unit FX-000000"]


async def test_posting_the_same_events_gives_the_same(loaded: Loaded, database: Database, template: Template) -> None:
    """The same messages, posted in their order to another database, are answered and derived alike."""
    async with await connect(database.owner_url) as conn:
        messages = await asked(conn, LOG)
        expected = await derived(conn), await asked(conn, ANSWERED)
    assert len(messages) == loaded.events
    with cloned(template) as other:
        await begin(other)
        async with make_pool(other.app_url, 2) as pool:
            ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
            for some in cut(messages, 200):
                reads = [
                    read(Incoming(raw=body, sender=Sender(key=KEY, role="administrator", sites=None,
                                                          received_at=received_at, sent_at=sent_at)))
                    for body, received_at, sent_at in some
                ]  # fmt: skip
                receipts = await record_all(ledger, OURS, reads)
                assert {receipt.status for receipt in receipts} == {201}, receipts
        async with await connect(other.owner_url) as conn:
            posted = await derived(conn), await asked(conn, ANSWERED)
    assert posted[1] == expected[1]
    for table, rows in expected[0].items():
        assert posted[0][table] == rows, table


async def test_what_guards_the_tables_is_as_it_was(database: Database, owner_connection: AsyncConnection) -> None:
    """Indexes, constraints, triggers and row security are the same after a load as before it."""
    before = await asked(owner_connection, CATALOGUE)
    await begin(database)
    await load(database.owner_url, SMALL, (OURS, KEY))
    assert await asked(owner_connection, CATALOGUE) == before
    assert {name for name, *_ in before} > set(TABLES)
