"""Units as a list shows them, by tag, as they stand at a moment: those that are as they are asked for, page by page.

Some are told anew by whoever asks, in place of what is stored of them. `rules` begin with a digit a rule (`packed`).
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Blobs, Booleans, Integers, Sinces, Texts, Untils, Uuids
from service.store.intervals_between import UnitInterval

LISTED_UNITS: Final = """
WITH held AS (
    SELECT i.unit, u.tag, u.card, i.since, i.until, i.site, i.model, i.phase, i.in_scope, i.standing, i.do_not_use,
        i.rules
    FROM ledger.intervals_between(%(organisation)s, %(at)s, %(at)s::timestamptz + interval '1 microsecond') i
        JOIN ledger.unit u ON u.organisation = i.organisation AND u.unit = i.unit
    WHERE NOT (i.unit = ANY (%(without)s::uuid[])) AND (%(before)s::timestamptz IS NULL OR EXISTS (
        SELECT FROM ledger.standing_interval x
        WHERE x.organisation = %(organisation)s AND x.unit = i.unit AND x.until > %(at)s AND x.since < %(before)s
            AND CASE WHEN x.in_scope THEN get_byte(x.rules, %(fallen)s) - 48 >= %(fallen_from)s ELSE false END))
    UNION ALL
    SELECT * FROM unnest(%(units)s::uuid[], %(tags)s::text[], %(cards)s::bytea[], %(sinces)s::timestamptz[],
        %(untils)s::timestamptz[], %(unit_sites)s::text[], %(models)s::text[], %(phases)s::text[],
        %(scopes)s::boolean[], %(standings)s::text[], %(bans)s::boolean[], %(digits)s::bytea[]))
SELECT h.unit, h.tag, h.card, h.since, nullif(h.until, 'infinity') AS until, h.site, h.model, h.phase, h.in_scope,
    h.standing, h.do_not_use, h.rules
FROM held h
WHERE (%(sites)s::text[] IS NULL OR h.site = ANY (%(sites)s))
    AND (%(phase)s::text IS NULL OR h.phase = %(phase)s)
    AND (%(standing)s::text IS NULL OR h.standing = %(standing)s)
    AND (%(model)s::text IS NULL OR h.model = %(model)s)
    AND (%(rule)s::integer IS NULL
        OR CASE WHEN h.in_scope THEN get_byte(h.rules, %(rule)s) - 48 = ANY (%(said)s::integer[]) ELSE false END)
    AND (%(text)s::text IS NULL OR h.unit = ANY (%(former)s::uuid[])
        OR position(lower(%(text)s) IN lower(h.tag || ' ' || (convert_from(h.card, 'UTF8')::jsonb ->> 'serial'))) > 0)
    AND (%(holder)s::text IS NULL OR jsonb_path_exists(
        convert_from(h.card, 'UTF8')::jsonb, '$.holder.* ? (@ == $who)', jsonb_build_object('who', %(holder)s::text)))
    AND (%(after)s::text IS NULL OR (h.tag || ' ' || h.unit) COLLATE "C" > %(after)s)
ORDER BY h.tag COLLATE "C", h.unit
LIMIT %(limit)s
"""


class ListedUnit(UnitInterval, frozen=True, kw_only=True):
    """A unit with its card (JSON, as last folded) and the span of its standing that holds."""

    tag: str
    card: bytes


class Chosen(msgspec.Struct, frozen=True, kw_only=True):
    """Which units; None asks nothing. `holder` is anybody or anything that has it.

    `rule` is the place of a rule of which any of `said` holds, in scope. `fallen` is that of the rule that stands at
    `fallen_from` or worse somewhen before a moment (`before`), if nothing more happens. `text` is looked for in tags
    and serial numbers; units `former` are taken to have it. `after` is a tag, a space and a unit.
    """

    fallen: int
    fallen_from: int
    sites: Iterable[str] | None = None
    phase: str | None = None
    standing: str | None = None
    model: str | None = None
    rule: int | None = None
    said: Iterable[int] = ()
    text: str | None = None
    former: Iterable[UUID] = ()
    holder: str | None = None
    before: datetime | None = None
    after: str | None = None
    limit: int


async def listed_units(
    conn: AsyncConnection,
    organisation: UUID,
    at: datetime,
    chosen: Chosen,
    *,
    instead: Sequence[ListedUnit],
    without: Iterable[UUID],
) -> list[ListedUnit]:
    """Give units by tag. Of units `without` what is stored is left out; those `instead` meet `before` already."""
    parameters = {
        "organisation": organisation,
        "at": at,
        "without": Uuids(without),
        "before": chosen.before,
        "fallen": chosen.fallen,
        "fallen_from": chosen.fallen_from,
        "units": Uuids(one.unit for one in instead),
        "tags": Texts(one.tag for one in instead),
        "cards": Blobs(one.card for one in instead),
        "sinces": Sinces(one.since for one in instead),
        "untils": Untils(one.until for one in instead),
        "unit_sites": Texts(one.site for one in instead),
        "models": Texts(one.model for one in instead),
        "phases": Texts(one.phase for one in instead),
        "scopes": Booleans(one.in_scope for one in instead),
        "standings": Texts(one.standing for one in instead),
        "bans": Booleans(one.do_not_use for one in instead),
        "digits": Blobs(one.rules for one in instead),
        "sites": None if chosen.sites is None else Texts(chosen.sites),
        "phase": chosen.phase,
        "standing": chosen.standing,
        "model": chosen.model,
        "rule": chosen.rule,
        "said": Integers(chosen.said),
        "text": chosen.text,
        "former": Uuids(chosen.former),
        "holder": chosen.holder,
        "after": chosen.after,
        "limit": chosen.limit,
    }
    async with conn.cursor(row_factory=class_row(ListedUnit)) as cursor:
        await cursor.execute(LISTED_UNITS, parameters)
        return await cursor.fetchall()
