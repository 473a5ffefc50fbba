"""A rebuild of a sample of kins, compared with what is stored: of millions of events the whole would take hours."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.sql import SQL, Identifier

from service.known import Memory
from service.rebuild import _folded as folded
from service.store.load_kins import load_kins
from service.store.position import position
from tests.bench.scale.derived import OF_KINS, OF_UNITS, rows_of
from tests.bench.scale.packing import END, HEAD, Table, table

KINS: Final = "SELECT kin FROM ledger.kin WHERE organisation = %(organisation)s ORDER BY kin"
OF_A_KIN: Final = SQL("organisation = %(organisation)s AND kin = %(kin)s")
OF_ITS_UNITS: Final = SQL("(organisation, unit) IN (SELECT organisation, unit FROM ledger.unit WHERE {})").format(
    OF_A_KIN
)


async def differing(conn: AsyncConnection, organisation: UUID, *, every: int) -> tuple[int, list[str]]:
    """Fold one in so many kins from their events; give how many those are, and each table and kin that differs.

    The caller's transaction names the organisation.
    """
    where = await position(conn, organisation)
    memory = Memory()
    known = await memory.known(conn, organisation, where.context_seq)
    await memory.meet(conn, organisation, {row.key for row in known.rows})
    world = known.world(where.context_seq)
    tables = {name: await table(conn, name) for name in OF_KINS}
    kins = [row[0] for row in await (await conn.execute(KINS, {"organisation": organisation})).fetchall()][::every]
    found: list[str] = []
    for kin in kins:
        loaded = (await load_kins(conn, organisation, [kin]))[kin]
        write = await folded(conn, organisation, loaded.tags, world)
        expected: dict[str, set[bytes]] = {}
        for name, row in rows_of(organisation, write, loaded.version):
            expected.setdefault(name, set()).add(b"".join(tables[name].packed(row, ())))
        stored = {one.name: await _stored(conn, organisation, one, kin) for one in tables.values()}
        found += [f"{name} {kin}" for name, rows in stored.items() if rows != expected.get(name, set())]
    return len(kins), found


async def _stored(conn: AsyncConnection, organisation: UUID, of: Table, kin: str) -> set[bytes]:
    """Give the rows of a kin in a table as COPY writes them."""
    columns = SQL(", ").join(Identifier(name) for name, _ in of.columns)
    whose = OF_ITS_UNITS if of.name in OF_UNITS else OF_A_KIN
    query = SQL("COPY (SELECT {} FROM {} WHERE {}) TO STDOUT (FORMAT BINARY)")
    async with conn.cursor() as cursor:
        asked = query.format(columns, Identifier("ledger", of.name), whose)
        async with cursor.copy(asked, {"organisation": organisation, "kin": kin}) as copy:
            return {bytes(row).removeprefix(HEAD) async for row in copy} - {END, b""}
