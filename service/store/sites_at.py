"""Where units are at a moment, as far as they exist by then."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Uuids

SITES_AT: Final = """
SELECT unit, site FROM ledger.standing_interval
WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[]) AND since <= %(at)s AND until > %(at)s
ORDER BY unit
"""


async def sites_at(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID], at: datetime) -> dict[UUID, str]:
    """Give the site of each unit, as the newest fold shows it."""
    parameters = {"organisation": organisation, "units": Uuids(units), "at": at}
    rows = await (await conn.execute(SITES_AT, parameters)).fetchall()
    return dict(rows)
