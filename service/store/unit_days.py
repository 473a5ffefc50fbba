"""Count unit-days: days of a site on which a unit was in scope at any moment, and those it was compliant throughout.

Which instants begin the days of a zone is told by who asks: zones come from the pinned `tzdata` alone.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Booleans, Instants, Sinces, Texts, Untils, Uuids

# The days of a unit are the bits of a number: a day is told by any of the spans that reach into it.
UNIT_DAYS: Final = """
WITH zone AS (
    SELECT z.zone, array_agg(z.begins ORDER BY z.begins) AS days
    FROM unnest(%(zones)s::text[], %(begins)s::timestamptz[]) z (zone, begins) GROUP BY z.zone),
held AS (
    SELECT i.unit, i.site, i.model, i.since, i.until, i.standing = ANY (%(compliant)s::text[]) AS good
    FROM ledger.intervals_between(%(organisation)s, %(since)s, %(until)s) i
    WHERE i.in_scope AND NOT (i.unit = ANY (%(without)s::uuid[]))
    UNION ALL
    SELECT * FROM unnest(%(units)s::uuid[], %(unit_sites)s::text[], %(unit_models)s::text[], %(sinces)s::timestamptz[],
        %(untils)s::timestamptz[], %(goods)s::boolean[])),
told AS (
    SELECT h.unit, h.site, CASE WHEN %(models)s THEN h.model ELSE '' END AS model, h.good,
        width_bucket(greatest(h.since, z.days[1]), z.days) AS first,
        width_bucket(least(h.until, %(until)s) - interval '1 microsecond', z.days) AS last
    FROM held h
        JOIN unnest(%(sites)s::text[], %(site_zones)s::text[]) s (site, zone) ON s.site = h.site COLLATE "C"
        JOIN zone z ON z.zone = s.zone
    WHERE h.since < %(until)s AND h.until > z.days[1]
    OFFSET 0),
marked AS (
    SELECT t.unit, t.site, t.model, bit_or(t.days) AS days, bit_or(t.days) FILTER (WHERE NOT t.good) AS bad
    FROM (SELECT t.*, ((1::bigint << t.last - t.first + 1) - 1) << t.first - 1 AS days FROM told t) t
    GROUP BY t.unit, t.site, t.model)
SELECT m.site, m.model, sum(bit_count((m.days & ~coalesce(m.bad, 0))::bit(64)))::bigint AS compliant,
    sum(bit_count(m.days::bit(64)))::bigint AS every
FROM marked m GROUP BY m.site, m.model
"""


class Stretch(msgspec.Struct, frozen=True):
    """What is counted: the days of each zone by their beginnings, in order, up to a moment, and the zones of sites.

    There are no more than sixty days.
    """

    begins: Mapping[str, Sequence[datetime]]
    zones: Mapping[str, str]
    until: datetime


class UnitDays(msgspec.Struct, frozen=True):
    """So many unit-days at a site, and of those the compliant ones; `model` is "" where models are not told apart."""

    site: str
    model: str
    compliant: int
    every: int


class Span(msgspec.Struct, frozen=True):
    """A span in which a unit was in scope, as it is to be counted in place of what is stored of it."""

    unit: UUID
    site: str
    model: str
    since: datetime
    until: datetime | None
    compliant: bool


async def unit_days(
    conn: AsyncConnection,
    organisation: UUID,
    stretch: Stretch,
    *,
    compliant: Iterable[str],
    models: bool,
    instead: Sequence[Span],
    without: Iterable[UUID],
) -> list[UnitDays]:
    """Count by site, and by model where they are told apart.

    Of units `without` what is stored is left out, and what is told `instead` counts.
    """
    every = stretch.begins.items()
    parameters = {
        "organisation": organisation,
        "since": min(begins[0] for _, begins in every),
        "until": stretch.until,
        "zones": Texts(zone for zone, begins in every for _ in begins),
        "begins": Instants(begin for _, begins in every for begin in begins),
        "sites": Texts(stretch.zones),
        "site_zones": Texts(stretch.zones.values()),
        "compliant": Texts(compliant),
        "models": models,
        "without": Uuids(without),
        "units": Uuids(one.unit for one in instead),
        "unit_sites": Texts(one.site for one in instead),
        "unit_models": Texts(one.model for one in instead),
        "sinces": Sinces(one.since for one in instead),
        "untils": Untils(one.until for one in instead),
        "goods": Booleans(one.compliant for one in instead),
    }
    async with conn.cursor(row_factory=class_row(UnitDays)) as cursor:
        await cursor.execute(UNIT_DAYS, parameters)
        return await cursor.fetchall()
