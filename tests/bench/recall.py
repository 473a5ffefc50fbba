"""The impact of a recall of one lot that a thousand units had, beside the query that a developer would write by hand.

The lot is fitted after the data was loaded, by events that are posted like any others, and half of it is changed again.
Both sides read from one snapshot, as the role that serves, in turn, with garbage looked for as rarely as it is there.
"""

from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from statistics import median
from time import perf_counter
from typing import Any, Final
from uuid import uuid4

import msgspec
from psycopg import AsyncConnection

from service.assessing.moment import asked
from service.assessing.recall_reached import Impact
from service.assessing.recalls import impact
from service.domain.caller import Caller
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import sorting
from service.domain.recall.opening import Opening
from service.ledger import Ledger
from service.serving import spare_collections
from service.store.connecting import Pool, make_pool
from service.store.scope import set_organisation
from tests.bench.comparing import Line
from tests.bench.firm import analyse, made_firm, made_key
from tests.bench.in_process import take
from tests.bench.scale.bulk import load
from tests.bench.scale.shape import just_now, shape_of
from tests.databases.clone import Database
from tests.http.doors import OURS
from tests.http.firm import message

ITEM, LOT = "pf-170", "R0773Q"
AFFECTED = 1000
BATCH = 500
TIMES = 15
CHOSEN: Final = """
SELECT tag, site FROM ledger.unit WHERE organisation = %(organisation)s AND phase IN ('issued', 'stationed', 'in-store')
ORDER BY md5(unit::text) LIMIT %(count)s
"""
WINDOWS: Final = """
SELECT u.tag, u.site, p.position, p.since, nullif(p.until, 'infinity'), h.since, nullif(h.until, 'infinity'), h.told
FROM ledger.stay p
    JOIN ledger.unit u ON u.organisation = p.organisation AND u.unit = p.unit
    LEFT JOIN ledger.stay h ON h.organisation = p.organisation AND h.unit = p.unit AND h.position = ''
        AND h.since < p.until AND h.until > p.since
WHERE p.organisation = %(organisation)s AND p.item = %(item)s AND p.lot = %(lot)s
ORDER BY u.tag, p.since, h.since
"""
"""Which units had a part of the lot, from when to when, and who had them meanwhile."""
WHOLE: Final = """
WITH sat AS MATERIALIZED (
    SELECT p.unit, u.tag, u.site, u.phase, u.card, p.position, p.since, p.until, p.told
    FROM ledger.stay p JOIN ledger.unit u ON u.organisation = p.organisation AND u.unit = p.unit
    WHERE p.organisation = %(organisation)s AND p.item = %(item)s AND (p.lot = %(lot)s OR p.lot IS NULL))
SELECT sat.tag, sat.site, sat.phase, sat.card, sat.position, sat.since, nullif(sat.until, 'infinity'), sat.told,
    held.hands, worn.wearers, spoken.last
FROM sat
    CROSS JOIN LATERAL (
        SELECT json_agg(json_build_array(h.since, h.until, encode(h.told, 'hex'),
            extract(epoch FROM least(h.until, sat.until, now()) - greatest(h.since, sat.since)))) AS hands
        FROM ledger.stay h
        WHERE h.organisation = %(organisation)s AND h.unit = sat.unit AND h.position = '' AND h.since < sat.until
            AND h.until > sat.since) held
    CROSS JOIN LATERAL (
        SELECT json_agg(json_build_array(w.person, w.times, w.first, w.last, w.seconds)) AS wearers
        FROM (SELECT m.person, count(*) AS times, min(m.at) AS first, max(m.at) AS last,
                extract(epoch FROM sum(m.ends - m.at)) AS seconds
            FROM ledger.use_made m
            WHERE m.organisation = %(organisation)s AND m.unit = sat.unit AND m.worn AND m.at >= sat.since
                AND m.at < sat.until
            GROUP BY m.person) w) worn
    CROSS JOIN LATERAL (
        SELECT s.instant AS last FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject = 'asset:' || sat.tag
        ORDER BY s.instant DESC LIMIT 1) spoken
ORDER BY sat.tag, sat.since
"""
"""The same with who wore them and for how long, the parts as they were told, and when each unit was last spoken of."""


async def recall(database: Database, *, to: int) -> list[str | Line]:
    """Load so many events, fit the lot into a thousand units, and ask."""
    await made_firm(database.owner_url)
    key = await made_key(database.owner_url)
    await load(database.owner_url, shape_of(to, just_now() - timedelta(hours=1)), (OURS, key))
    caller = Caller(organisation=OURS, key=key, role="administrator")
    async with make_pool(database.app_url, 2) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        await fit(ledger, caller)
        analyse(database.owner_url)
        spare_collections()
        ours: list[float] = []
        theirs: dict[str, list[float]] = {WINDOWS: [], WHOLE: []}
        found = await told(ledger, caller)
        for _ in range(TIMES):
            began = perf_counter()
            found = await told(ledger, caller)
            ours.append(perf_counter() - began)
            for query, times in theirs.items():
                began = perf_counter()
                rows = await by_hand(pool, query)
                times.append(perf_counter() - began)
                assert {row[0] for row in rows} == {one.lived.life.unit.tag for one in found.units}
    affected = sum(one.touched.affected for one in found.units)
    return [
        f"recall: {len(found.units):,} units had the lot, {affected:,} have it, of {to:,} events",
        *(
            Line(
                what=f"recall impact, {len(found.units):,} units",
                ours=median(ours) * 1e3,
                against=against,
                theirs=median(theirs[query]) * 1e3,
                unit="ms",
                reach=1.5,
                at_most=True,
            )
            for query, against in ((WHOLE, "the whole answer by hand"), (WINDOWS, "windows and hands by hand"))
        ),
    ]


async def told(ledger: Ledger, caller: Caller) -> Impact:
    """Ask for the impact, as the doors do."""
    async with asked(ledger, caller) as question:
        key = (question.as_at, True, 0, "", 0, b"", False)
        criteria = (Criterion(item=ITEM, lot=LOT),)
        return await impact(question, [Opening("rc-bench", key, uuid4(), "p-1", "stop-use", criteria)], None)


async def by_hand(pool: Pool, query: Any) -> list[tuple[Any, ...]]:
    """Ask the query in a snapshot of its own."""
    async with snapshot(pool) as conn:
        asked_of = {"organisation": OURS, "item": ITEM, "lot": sorting(LOT)}
        return await (await conn.execute(query, asked_of)).fetchall()


@asynccontextmanager
async def snapshot(pool: Pool) -> AsyncIterator[AsyncConnection]:
    """Give a connection as our organisation."""
    async with pool.connection() as conn, conn.transaction():
        await set_organisation(conn, OURS)
        yield conn


async def fit(ledger: Ledger, caller: Caller) -> None:
    """Put the lot into a thousand units, and another into half of them later; hand it out to some places in stock."""
    async with snapshot(ledger.pool) as conn:
        cursor = await conn.execute(CHOSEN, {"organisation": OURS, "count": AFFECTED})
        chosen = await cursor.fetchall()
    now = datetime.now(UTC)
    for lot, units, ago in ((LOT, chosen, 50), ("R0774A", chosen[::2], 20)):
        swaps = [swap(tag, site, lot, now - timedelta(minutes=ago)) for tag, site in units]
        await post(ledger, caller, swaps)
    sites = sorted({site for _, site in chosen})[:20]
    stock = {"item": ITEM, "quantity": 10.0, "unit": "C62", "lot": LOT}
    at = (now - timedelta(minutes=55)).isoformat()
    await post(ledger, caller, [said("stock-counted", at, site=site, **stock) for site in sites])


def swap(tag: str, site: str, lot: str, at: datetime) -> dict[str, Any]:
    """Change a filter."""
    new = {"item": ITEM, "lot": lot, "condition": "new"}
    fields = {"asset": tag, "site": site, "position": "particle-filter", "in": new, "reason": "loading"}
    return said("filter-replaced", at.isoformat(), **fields)


def said(kind: str, at: str, **fields: Any) -> dict[str, Any]:
    """Write a message with an id of its own."""
    return message(kind, **{"id": str(uuid4()), "occurred_at": at} | fields)


async def post(ledger: Ledger, caller: Caller, messages: Sequence[dict[str, Any]]) -> None:
    """Record messages in batches."""
    for start in range(0, len(messages), BATCH):
        await take(ledger, caller, [msgspec.json.encode(one) for one in messages[start : start + BATCH]])
