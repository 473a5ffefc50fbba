"""Ask what the connected role may do that a serving process must not."""

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

SERVING_ROLE = """
SELECT r.rolname AS name, r.rolsuper AS is_superuser, r.rolbypassrls AS bypasses_row_security,
    EXISTS (
        SELECT FROM pg_class c
        WHERE c.relnamespace = to_regnamespace('ledger') AND pg_has_role(r.oid, c.relowner, 'USAGE')
    ) AS owns_a_table
FROM pg_roles r WHERE r.rolname = current_user
"""


class ServingRole(msgspec.Struct, frozen=True, kw_only=True):
    """A role and its powers; a member of the owning role counts as owning."""

    name: str
    is_superuser: bool
    bypasses_row_security: bool
    owns_a_table: bool


async def serving_role(conn: AsyncConnection) -> ServingRole:
    """Describe the role of the connection."""
    async with conn.cursor(row_factory=class_row(ServingRole)) as cursor:
        await cursor.execute(SERVING_ROLE)
        row = await cursor.fetchone()
    if row is None:
        message = "current_user is in pg_roles"
        raise AssertionError(message)
    return row
