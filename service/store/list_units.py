"""Units with their standing at a moment, by tag, a page at a time."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

LIST_UNITS: Final = """
SELECT u.unit, u.kin, u.tag, i.site, i.model, i.phase, i.in_scope, i.standing, i.do_not_use, i.rules, i.since,
    nullif(i.until, 'infinity') AS until, u.card, u.outlook
FROM ledger.unit u CROSS JOIN LATERAL (
    SELECT x.* FROM ledger.standing_interval x
    WHERE x.organisation = u.organisation AND x.unit = u.unit AND x.since <= %(as_at)s
    ORDER BY x.since DESC LIMIT 1) i
WHERE u.organisation = %(organisation)s AND i.until > %(as_at)s
    AND (%(after)s::text IS NULL OR (u.tag, u.unit) > (%(after)s, %(after_unit)s::uuid))
    AND (%(tags)s::text[] IS NULL OR u.tag = ANY (%(tags)s))
    AND (%(sites)s::text[] IS NULL OR i.site = ANY (%(sites)s))
    AND (%(models)s::text[] IS NULL OR i.model = ANY (%(models)s))
    AND (%(phases)s::text[] IS NULL OR i.phase = ANY (%(phases)s))
    AND (%(standings)s::text[] IS NULL OR i.standing = ANY (%(standings)s))
    AND (%(do_not_use)s::boolean IS NULL OR i.do_not_use = %(do_not_use)s)
    AND (%(in_scope)s::boolean IS NULL OR i.in_scope = %(in_scope)s)
    AND (%(search)s::text IS NULL OR position(%(search)s IN u.search) > 0)
ORDER BY u.tag, u.unit
LIMIT %(limit)s
"""


class UnitFilter(msgspec.Struct, frozen=True, kw_only=True):
    """What units must be like; None asks nothing. `search` is text that their search line holds, in its own case."""

    tags: Sequence[str] | None = None
    sites: Sequence[str] | None = None
    models: Sequence[str] | None = None
    phases: Sequence[str] | None = None
    standings: Sequence[str] | None = None
    do_not_use: bool | None = None
    in_scope: bool | None = None
    search: str | None = None


class ListedUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit: place and standing as of the moment asked for, card and outlook as of the newest fold."""

    unit: UUID
    kin: str
    tag: str
    site: str
    model: str
    phase: str
    in_scope: bool
    standing: str
    do_not_use: bool
    rules: bytes
    since: datetime
    until: datetime | None
    card: bytes
    outlook: bytes


async def list_units(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    as_at: datetime,
    where: UnitFilter,
    after: tuple[str, UUID] | None = None,
    limit: int,
) -> list[ListedUnit]:
    """Give at most `limit` units past (tag, unit) that had a standing at the moment and are as wanted."""
    parameters = msgspec.structs.asdict(where) | {
        "organisation": organisation,
        "as_at": as_at,
        "after": after and after[0],
        "after_unit": after and after[1],
        "limit": limit,
    }
    for name in ("tags", "sites", "models", "phases", "standings"):
        parameters[name] = None if parameters[name] is None else list(parameters[name])
    async with conn.cursor(row_factory=class_row(ListedUnit)) as cursor:
        await cursor.execute(LIST_UNITS, parameters)
        return await cursor.fetchall()
