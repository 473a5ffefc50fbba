"""Everything derived of an organisation as text, in a fixed order: what a rebuild must equal, row by row.

A kin's version is left out: it says when the row was written, not what it means.
"""

from collections.abc import AsyncIterator, Mapping
from typing import Final, LiteralString
from uuid import UUID

from psycopg import AsyncConnection

EVENT_SUBJECT: Final = """
SELECT ROW (seq, subject)::text, ROW (instant)::text FROM ledger.event_subject
WHERE organisation = %(organisation)s ORDER BY seq, subject, instant
"""
KINSHIP: Final = """
SELECT tag, kin FROM ledger.kinship
WHERE organisation = %(organisation)s ORDER BY tag
"""
KIN: Final = """
SELECT kin, snapshot::text FROM ledger.kin
WHERE organisation = %(organisation)s ORDER BY kin
"""
FOLD_MARK: Final = """
SELECT ROW (kin, at)::text, state::text FROM ledger.fold_mark
WHERE organisation = %(organisation)s ORDER BY kin, at
"""
UNIT: Final = """
SELECT unit::text,
    ROW (kin, tag, site, model, phase, standing, in_scope, do_not_use, card, outlook, next_uses,
        next_covered, next_sound, next_until)::text
FROM ledger.unit
WHERE organisation = %(organisation)s ORDER BY unit
"""
STANDING_INTERVAL: Final = """
SELECT ROW (unit, since)::text, ROW (until, site, model, phase, in_scope, standing, do_not_use, rules)::text
FROM ledger.standing_interval
WHERE organisation = %(organisation)s ORDER BY unit, since
"""
USE_MADE: Final = """
SELECT ROW (unit, at, ref)::text, ROW (site, lapse, person, ends, worn, counted, forbidden, known_by, day)::text
FROM ledger.use_made
WHERE organisation = %(organisation)s ORDER BY unit, at, ref
"""
FINDING: Final = """
SELECT ROW (unit, at, report, event)::text, ROW (site, person, reasons)::text FROM ledger.finding
WHERE organisation = %(organisation)s ORDER BY unit, at, report, event
"""
STAY: Final = """
SELECT ROW (unit, position, since)::text, ROW (until, item, lot, told)::text FROM ledger.stay
WHERE organisation = %(organisation)s ORDER BY unit, position, since
"""
DEPENDENCY: Final = """
SELECT ROW (kin, ref)::text, '' FROM ledger.dependency
WHERE organisation = %(organisation)s ORDER BY kin, ref
"""
GENERATION: Final = """
SELECT generation::text, ROW (rules_to, code_version, tzdata_version)::text FROM ledger.generation
WHERE organisation = %(organisation)s ORDER BY generation
"""

DUMPS: Final[Mapping[str, LiteralString]] = {
    "event_subject": EVENT_SUBJECT,
    "kinship": KINSHIP,
    "kin": KIN,
    "fold_mark": FOLD_MARK,
    "unit": UNIT,
    "standing_interval": STANDING_INTERVAL,
    "use_made": USE_MADE,
    "finding": FINDING,
    "stay": STAY,
    "dependency": DEPENDENCY,
    "generation": GENERATION,
}
"""By table, in the order of tables.DERIVED: the row's key, and the rest of it."""


async def dump_derived(conn: AsyncConnection, organisation: UUID, table: str) -> AsyncIterator[tuple[str, str]]:
    """Give a table's rows as (key, rest), in order, a few at a time; the caller has opened a transaction."""
    async with conn.cursor(name="dump") as cursor:
        cursor.itersize = 2000
        await cursor.execute(DUMPS[table], {"organisation": organisation})
        async for key, rest in cursor:
            yield key, rest
