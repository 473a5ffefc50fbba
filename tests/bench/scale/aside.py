"""Setting aside: while rows are copied in, indexes and row security of their tables rest, and come back afterwards.

An index over random ids that is kept while millions of rows come writes a page of it for every row; made of all rows
at once it is sorted. Making it again demands of the rows what it demanded before. Triggers, checks and what must not be
null stay on throughout.
"""

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from typing import Any

from psycopg import AsyncConnection
from psycopg.sql import SQL, Identifier

CONSTRAINTS = """
SELECT conname, pg_get_constraintdef(oid) FROM pg_constraint
WHERE conrelid = %(table)s::regclass AND contype IN ('p', 'u') ORDER BY conname
"""
INDEXES = """
SELECT c.relname, pg_get_indexdef(i.indexrelid) FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
WHERE i.indrelid = %(table)s::regclass
    AND NOT EXISTS (SELECT FROM pg_constraint k WHERE k.conindid = i.indexrelid AND k.contype IN ('p', 'u'))
ORDER BY c.relname
"""


@asynccontextmanager
async def set_aside(conn: AsyncConnection, tables: Iterable[str]) -> AsyncIterator[None]:
    """Set aside what slows copying down, in the owner's transaction, and make it again."""
    again = []
    for name in tables:
        table = Identifier("ledger", name)
        await conn.execute(SQL("ALTER TABLE {} NO FORCE ROW LEVEL SECURITY").format(table))
        again.append(SQL("ALTER TABLE {} FORCE ROW LEVEL SECURITY").format(table))
        for index, definition in await _found(conn, INDEXES, name):
            await conn.execute(SQL("DROP INDEX {}").format(Identifier("ledger", index)))
            again.append(SQL(definition).format())
        for constraint, definition in await _found(conn, CONSTRAINTS, name):
            named = Identifier(constraint)
            await conn.execute(SQL("ALTER TABLE {} DROP CONSTRAINT {}").format(table, named))
            made = SQL("ALTER TABLE {} ADD CONSTRAINT {} ").format(table, named) + SQL(definition)
            again.append(made)
    yield
    await conn.execute("SET LOCAL maintenance_work_mem = '512MB'")
    for statement in again:
        await conn.execute(statement)


async def _found(conn: AsyncConnection, query: Any, table: str) -> list[Any]:
    return await (await conn.execute(query, {"table": f"ledger.{table}"})).fetchall()
