import msgspec
import psycopg
import pytest
from psycopg.sql import SQL, Identifier, Literal

from service.migrating import migrate
from service.store.connecting import connect
from service.store.errors import UnknownRevision, UnsafeRole, UnsafeServer
from service.store.guard import demand_durable, demand_harmless, guard
from service.store.server_settings import server_settings
from service.store.serving_role import ServingRole
from tests.databases.clone import PASSWORD, Database, url_for
from tests.databases.cluster import Cluster
from tests.store.making import Desk

DURABLE = {
    "fsync": "on",
    "synchronous_commit": "on",
    "full_page_writes": "on",
    "server_encoding": "UTF8",
    "server_version_num": "150004",
}


async def test_app_role_may_serve(desk: Desk) -> None:
    """The app role of a migrated database on a durable server is let through."""
    async with desk.pool.connection() as conn:
        await guard(conn)


async def test_owner_may_not_serve(desk: Desk) -> None:
    """The role that owns the tables is turned away."""
    async with await connect(desk.database.owner_url) as conn:
        with pytest.raises(UnsafeRole, match="owns the tables"):
            await guard(conn)


async def test_member_of_the_owner_may_not_serve(empty_database: Database, cluster: Cluster) -> None:
    """A role that is granted the owner's rights counts as owning."""
    migrate(empty_database.owner_url)
    owner, member = Identifier(f"{empty_database.name}_owner"), Identifier(f"{empty_database.name}_member")
    with psycopg.connect(cluster.url, autocommit=True) as admin:
        admin.execute(SQL("CREATE ROLE {} LOGIN PASSWORD {} IN ROLE {}").format(member, Literal(PASSWORD), owner))
        try:
            url = url_for(cluster.url, empty_database.name, f"{empty_database.name}_member", PASSWORD)
            async with await connect(url) as conn:
                with pytest.raises(UnsafeRole, match="owns the tables"):
                    await guard(conn)
        finally:
            admin.execute(SQL("DROP ROLE {}").format(member))


async def test_superuser_may_not_serve(desk: Desk, cluster: Cluster) -> None:
    """A superuser, for whom no row security holds, is turned away."""
    info = psycopg.conninfo.conninfo_to_dict(cluster.url)
    url = url_for(cluster.url, desk.database.name, str(info["user"]), str(info.get("password", "")))
    async with await connect(url) as conn:
        with pytest.raises(UnsafeRole, match="superuser"):
            await guard(conn)


def test_role_that_bypasses_row_security_may_not_serve() -> None:
    """A role that sees every organisation is turned away."""
    role = ServingRole(name="app", is_superuser=False, bypasses_row_security=True, owns_a_table=False)
    with pytest.raises(UnsafeRole, match="bypasses row security"):
        demand_harmless(role)
    demand_harmless(msgspec.structs.replace(role, bypasses_row_security=False))


async def test_database_without_migrations_is_refused(empty_database: Database) -> None:
    """Nothing is served from a schema that is not there."""
    async with await connect(empty_database.owner_url) as conn:
        with pytest.raises(UnknownRevision, match="at revision none"):
            await guard(conn)


async def test_schema_of_another_revision_is_refused(empty_database: Database) -> None:
    """Nothing is served from a schema of another revision; the error names both."""
    migrate(empty_database.owner_url, PASSWORD)
    with psycopg.connect(empty_database.owner_url) as owner:
        owner.execute("UPDATE ledger.alembic_version SET version_num = '0000'")
    async with await connect(empty_database.app_url) as conn:
        with pytest.raises(UnknownRevision, match="at revision 0000, this code needs ledger_"):
            await guard(conn)


async def test_settings_are_those_of_the_connection(desk: Desk) -> None:
    """A connection that gave up waiting for the disk is refused, whatever the server's own setting."""
    async with desk.pool.connection() as conn:
        assert (await server_settings(conn)).keys() == DURABLE.keys()
        async with conn.transaction():
            await conn.execute("SET LOCAL synchronous_commit = off")
            with pytest.raises(UnsafeServer, match="synchronous_commit is off"):
                await guard(conn)


@pytest.mark.parametrize(
    ("setting", "value", "said"),
    [
        ("fsync", "off", "fsync is off, but must be on"),
        ("synchronous_commit", "local", "synchronous_commit is local, but must be on or remote_apply"),
        ("full_page_writes", "off", "full_page_writes is off, but must be on"),
        ("server_encoding", "SQL_ASCII", "server_encoding is SQL_ASCII, but must be UTF8"),
        ("server_version_num", "140011", "PostgreSQL 15 or newer is needed"),
    ],
)
def test_server_that_may_forget_is_refused(setting: str, value: str, said: str) -> None:
    """A server that can lose what it acknowledged, or that is too old, is refused with the reason."""
    demand_durable(DURABLE)
    with pytest.raises(UnsafeServer, match=said):
        demand_durable(DURABLE | {setting: value})
