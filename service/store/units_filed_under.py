"""The units that events filed under subjects ("lot:L2409", "part-serial:PF-88") were about, as they are now."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts
from service.store.units_of_kins import UnitOfKin

UNITS_FILED_UNDER: Final = """
SELECT u.unit, u.kin, u.tag, u.site, u.model, u.phase, u.standing, u.in_scope, u.do_not_use, u.card, u.outlook
FROM ledger.unit u
WHERE u.organisation = %(organisation)s
    AND (%(sites)s::text[] IS NULL OR u.site = ANY (%(sites)s::text[]))
    AND u.kin IN (
        SELECT k.kin
        FROM ledger.event_subject s
        JOIN ledger.event_subject a
            ON a.organisation = s.organisation AND a.seq = s.seq AND starts_with(a.subject, 'asset:')
        JOIN ledger.kinship k ON k.organisation = s.organisation AND k.tag = substr(a.subject, 7)
        WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[]))
ORDER BY u.tag, u.unit
LIMIT %(limit)s::integer
"""


async def units_filed_under(
    conn: AsyncConnection, organisation: UUID, subjects: Iterable[str], sites: Iterable[str] | None, limit: int
) -> list[UnitOfKin]:
    """Give at most `limit` units by tag, of those at some sites (None: at any); whether it still holds is not asked."""
    asked = {
        "organisation": organisation,
        "subjects": Texts(subjects),
        "sites": None if sites is None else Texts(sites),
        "limit": limit,
    }
    async with conn.cursor(row_factory=class_row(UnitOfKin)) as cursor:
        await cursor.execute(UNITS_FILED_UNDER, asked)
        return await cursor.fetchall()
