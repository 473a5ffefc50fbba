from collections.abc import Iterator
from uuid import UUID, uuid4

import psycopg
import pytest
from psycopg import sql
from psycopg.errors import InsufficientPrivilege, ObjectNotInPrerequisiteState

from service.store.connecting import Pool, connect
from service.store.find_key import find_key
from service.store.make_key import NewKey, make_key
from service.store.scope import set_organisation
from service.store.tables import DERIVED, LOG, PRIMARY
from tests.databases.clone import url_for
from tests.databases.cluster import Cluster
from tests.store.making import CREATED_AT, Desk, a_kin, an_entry, appended, rows

WRITABLE = {
    *(("person", "INSERT"), ("person", "UPDATE"), ("person", "DELETE")),
    *(("given_answer", "INSERT"), ("given_answer", "UPDATE")),
    *(("webhook", "INSERT"), ("webhook", "UPDATE"), ("webhook", "DELETE")),
    *(("webhook_delivery", "INSERT"), ("webhook_delivery", "UPDATE")),
}
CHANGES = {
    "INSERT": "INSERT INTO ledger.{} DEFAULT VALUES",
    "UPDATE": "UPDATE ledger.{} SET organisation = organisation",
    "DELETE": "DELETE FROM ledger.{}",
    "TRUNCATE": "TRUNCATE ledger.{}",
    "DISABLE TRIGGER": "ALTER TABLE ledger.{} DISABLE TRIGGER ALL",
    "NO ROW SECURITY": "ALTER TABLE ledger.{} NO FORCE ROW LEVEL SECURITY",
    "DROP": "DROP TABLE ledger.{}",
}


def counting(table: str) -> sql.Composed:
    """Count the rows of a table."""
    return sql.SQL("SELECT count(*) FROM ledger.{}").format(sql.Identifier(table))


@pytest.mark.parametrize("table", [*LOG, *PRIMARY, *DERIVED])
async def test_app_role_changes_no_table(shared_pool: Pool, table: str) -> None:
    """The serving role writes no table itself but names, given answers and webhooks, and takes no guards away."""
    async with shared_pool.connection() as conn:
        for change, text in CHANGES.items():
            if (table, change) not in WRITABLE:
                with pytest.raises(InsufficientPrivilege):
                    await conn.execute(sql.SQL(text).format(sql.Identifier(table)))


async def test_app_role_does_not_leave_the_triggers_behind(desk: Desk) -> None:
    """The serving role cannot switch to the mode in which ordinary triggers rest."""
    async with desk.pool.connection() as conn:
        with pytest.raises(InsufficientPrivilege):
            await conn.execute("SET session_replication_role = replica")


@pytest.mark.parametrize("function", ["wipe_derived", "sort_intervals", "stop_writers", "draw"])
async def test_app_role_does_not_call_what_is_the_owners(desk: Desk, function: str) -> None:
    """What throws derived rows away, or moves the counter by itself, is not the serving role's."""
    arguments = {"draw": "%s::uuid, 1, null"}.get(function, "%s::uuid")
    async with desk.pool.connection() as conn:
        with pytest.raises(InsufficientPrivilege):
            await conn.execute(f"SELECT ledger.{function}({arguments})".encode(), (desk.organisation,))


@pytest.fixture
def superuser(cluster: Cluster, desk: Desk) -> Iterator[psycopg.Connection]:
    """Give a connection of the server's administrator to the same database."""
    with psycopg.connect(administrator(cluster.url, desk.database.name), autocommit=True) as conn:
        yield conn


def administrator(url: str, database: str) -> str:
    """Give the administrator's URL for another database."""
    info = psycopg.conninfo.conninfo_to_dict(url)
    return url_for(url, database, str(info["user"]), str(info.get("password", "")))


LOG_CHANGES = [
    ("event", "UPDATE ledger.event SET by_ref = 'p-2'"),
    ("event", "UPDATE ledger.event SET by_ref = by_ref WHERE false"),
    ("event", "DELETE FROM ledger.event"),
    ("event", "TRUNCATE ledger.event"),
    ("head", "UPDATE ledger.head SET last_seq = 0"),
    ("head", "UPDATE ledger.head SET last_recorded_at = '2020-01-01T00:00:00Z'"),
    ("head", "DELETE FROM ledger.head"),
    ("head", "TRUNCATE ledger.head"),
]


@pytest.mark.parametrize(("table", "change"), LOG_CHANGES)
async def test_owner_does_not_change_the_log(desk: Desk, table: str, change: str) -> None:
    """The triggers stop the owner too."""
    await appended(desk, [an_entry()])
    async with await connect(desk.database.owner_url) as owner, owner.transaction(force_rollback=True):
        await set_organisation(owner, desk.organisation)
        with pytest.raises(ObjectNotInPrerequisiteState):
            await owner.execute(change.encode())
    assert await rows(desk, counting(table)) == [(1,)]


@pytest.mark.parametrize(("table", "change"), LOG_CHANGES)
async def test_superuser_in_replica_mode_does_not_change_the_log(
    desk: Desk, superuser: psycopg.Connection, table: str, change: str
) -> None:
    """The triggers stop a superuser, in the mode in which ordinary triggers rest."""
    await appended(desk, [an_entry()])
    superuser.execute("SET session_replication_role = replica")
    with pytest.raises(ObjectNotInPrerequisiteState):
        superuser.execute(change.encode())
    assert await rows(desk, counting(table)) == [(1,)]


@pytest.mark.parametrize("table", [*LOG, *PRIMARY, *DERIVED])
async def test_without_an_organisation_nothing_is_seen(desk: Desk, table: str) -> None:
    """A transaction that names no organisation sees no row, not even after one that did."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    async with desk.pool.connection() as conn:
        async with conn.transaction():
            await set_organisation(conn, desk.organisation)
            assert await (await conn.execute("SELECT count(*) FROM ledger.head")).fetchone() == (1,)
        found = await conn.execute(counting(table))
        assert await found.fetchone() == (0,)


async def test_foreign_organisation_is_not_seen(desk: Desk) -> None:
    """Whoever works for one organisation sees no row of another, asked for or not."""
    await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
    async with desk.pool.connection() as conn, conn.transaction():
        await set_organisation(conn, desk.foreign)
        for table in (*LOG, *PRIMARY, *DERIVED):
            found = await conn.execute(counting(table) + sql.SQL(" WHERE organisation = %s"), (desk.organisation,))
            assert await found.fetchone() == (0,), table


async def test_owner_sees_no_log_without_an_organisation(desk: Desk) -> None:
    """Row security holds for the owner: it lists organisations, and sees of their logs what a setting names."""
    await appended(desk, [an_entry()])
    async with await connect(desk.database.owner_url) as owner:
        assert await (await owner.execute("SELECT count(*) FROM ledger.event")).fetchone() == (0,)
        listed = await owner.execute("SELECT organisation FROM ledger.organisation")
        assert {desk.organisation, desk.foreign} <= {row[0] for row in await listed.fetchall()}


async def stored_key(desk: Desk, organisation: UUID, secret_hash: bytes) -> NewKey:
    """Store a key of an organisation, as the owner."""
    key = NewKey(
        id=uuid4(),
        name="kiosk",
        role="site-app",
        sites=["harrow-dock"],
        secret_hash=secret_hash,
        created_at=CREATED_AT,
        expires_at=None,
    )
    async with await connect(desk.database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, organisation)
        await make_key(owner, organisation, key)
    return key


async def test_key_is_found_by_its_hash_alone(desk: Desk) -> None:
    """A presented key tells its organisation; another hash tells nothing."""
    secret_hash = uuid4().bytes + uuid4().bytes
    key = await stored_key(desk, desk.foreign, secret_hash)
    async with desk.pool.connection() as conn:
        found = await find_key(conn, secret_hash)
        assert found is not None
        assert (found.organisation, found.id, found.role) == (desk.foreign, key.id, "site-app")
        assert found.sites == ["harrow-dock"]
        assert await find_key(conn, bytes(32)) is None


async def test_hashes_of_keys_are_not_read(desk: Desk) -> None:
    """The serving role lists keys, never the hashes of their secrets."""
    await stored_key(desk, desk.organisation, uuid4().bytes + uuid4().bytes)
    assert len(await rows(desk, "SELECT id, name, role FROM ledger.api_key")) == 1
    with pytest.raises(InsufficientPrivilege):
        await rows(desk, "SELECT secret_hash FROM ledger.api_key")
