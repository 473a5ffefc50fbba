"""The impact of a recall of one lot that a thousand units had, beside the query that a developer would write by hand.

The lot is fitted after the data was loaded, by events that are posted like any others, and half of it is changed again.
Both sides read from one snapshot, as the role that serves, in turn, with garbage looked for as rarely as it is there.
Ours is asked again by a process that remembers units as long as nothing is written of them; told apart, by one that has
not read any, and with all that an answer has beside the units, written as it is sent.
"""

from collections.abc import AsyncIterator, Iterable, Sequence
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from statistics import median
from time import perf_counter
from typing import Any, Final
from uuid import uuid4

import msgspec
from msgspec.structs import replace
from psycopg import AsyncConnection

from service.assessing.moment import asked
from service.assessing.recall_reached import Impact
from service.assessing.recalls import impact
from service.domain.caller import Caller
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import sorting
from service.domain.recall.opening import Opening
from service.domain.recall.traces import lot_of
from service.known import Memory
from service.ledger import Ledger
from service.recalls import Supposed, Wanted, preview
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
TIMES = 31
CHOSEN: Final = """
SELECT tag, site FROM ledger.unit WHERE organisation = %(organisation)s AND phase IN ('issued', 'stationed', 'in-store')
ORDER BY md5(unit::text) LIMIT %(count)s
"""
WINDOWS: Final = """
SELECT u.tag, u.site, p.position, p.since, nullif(p.until, 'infinity'), h.since, nullif(h.until, 'infinity'), h.told
FROM ledger.stay p
    CROSS JOIN LATERAL (
        SELECT tag, site FROM ledger.unit WHERE organisation = %(organisation)s AND unit = p.unit OFFSET 0) u
    LEFT JOIN ledger.stay h ON h.organisation = p.organisation AND h.unit = p.unit AND h.position = ''
        AND h.since < p.until AND h.until > p.since
WHERE p.organisation = %(organisation)s AND p.item = %(item)s AND p.lot = %(lot)s
ORDER BY u.tag, p.since, h.since
"""
"""Which units had a part of the lot, from when to when, and who had them meanwhile."""
WHOLE: Final = """
WITH sat AS MATERIALIZED (
    SELECT p.unit, u.tag, u.site, u.phase, u.card, p.position, p.since, p.until, p.told
    FROM ledger.stay p
        CROSS JOIN LATERAL (
            SELECT tag, site, phase, card FROM ledger.unit WHERE organisation = %(organisation)s AND unit = p.unit
            OFFSET 0) u
    WHERE p.organisation = %(organisation)s AND p.item = %(item)s AND (p.lot = %(lot)s OR p.lot IS NULL))
SELECT sat.tag, sat.site, sat.phase, sat.card, sat.position, sat.since, nullif(sat.until, 'infinity'), sat.told,
    held.hands, worn.wearers, spoken.last, away.spans
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
    CROSS JOIN LATERAL (
        SELECT json_agg(json_build_array(i.since, nullif(i.until, 'infinity'))) AS spans
        FROM ledger.standing_interval i
        WHERE i.organisation = %(organisation)s AND i.unit = sat.unit AND i.phase = 'quarantined' AND NOT i.in_scope
            AND i.until > sat.since) away
ORDER BY sat.tag, sat.since
"""
"""The same with who wore them and for how long, the parts as they were told, when each was last spoken of and put away.

Nobody can foresee how many parts are of no known lot: each unit is looked up by its key all the same (OFFSET 0).
"""
STOCK: Final = """
WITH counted AS MATERIALIZED (
    SELECT DISTINCT ON (e.site) e.site, e.instant AS at,
        (convert_from(e.body, 'UTF8')::jsonb ->> 'quantity')::numeric AS quantity
    FROM ledger.event_subject s JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
    WHERE s.organisation = %(organisation)s AND s.subject > %(after)s AND s.subject < %(ending)s
        AND e.kind = 'stock-counted'
    ORDER BY e.site, e.instant DESC),
fitted AS MATERIALIZED (
    SELECT u.site, p.since
    FROM ledger.stay p
        CROSS JOIN LATERAL (
            SELECT site FROM ledger.unit WHERE organisation = %(organisation)s AND unit = p.unit OFFSET 0) u
    WHERE p.organisation = %(organisation)s AND p.item = %(item)s AND p.lot = %(lot)s)
SELECT c.site, c.quantity - count(f.since) AS quantity
FROM counted c LEFT JOIN fitted f ON f.site = c.site AND f.since > c.at
GROUP BY c.site, c.quantity
HAVING c.quantity > count(f.since)
ORDER BY c.site
"""
"""The spare stock of the lot: as it was last counted, without what was fitted at the site since."""


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
        page: list[float] = []
        anew: list[float] = []
        theirs: dict[tuple[str, ...], list[float]] = {(WINDOWS,): [], (WHOLE, STOCK): []}
        found = await told(ledger, caller)
        for _ in range(TIMES):
            began = perf_counter()
            found = await told(ledger, caller)
            ours.append(perf_counter() - began)
            began = perf_counter()
            assert len(await answered(ledger, caller)) == len(found.units)
            page.append(perf_counter() - began)
            for queries, times in theirs.items():
                began = perf_counter()
                rows, *stock = await by_hand(pool, queries)
                times.append(perf_counter() - began)
                assert {row[0] for row in rows} == {one.lived.life.unit.tag for one in found.units}
                assert stock in ([], [[(one.site, one.quantity) for one in found.stock]])
        for _ in range(TIMES):
            forgetful = await with_no_units(ledger, caller)
            began = perf_counter()
            assert len((await told(forgetful, caller)).units) == len(found.units)
            anew.append(perf_counter() - began)
    by_hands = (((WHOLE, STOCK), "the whole answer by hand"), ((WINDOWS,), "windows and hands by hand"))
    lines = (
        (ours, "", *by_hands[0]),
        (ours, "", *by_hands[1]),
        (page, ", with sums by site, as JSON", *by_hands[0]),
        (anew, ", none read before", *by_hands[0]),
    )
    affected = sum(one.touched.affected for one in found.units)
    return [
        f"recall: {len(found.units):,} units had the lot, {affected:,} have it, of {to:,} events",
        *(
            Line(
                what=f"recall impact, {len(found.units):,} units{how}",
                ours=median(times) * 1e3,
                against=against,
                theirs=median(theirs[queries]) * 1e3,
                unit="ms",
                reach=1.5,
                at_most=True,
            )
            for times, how, queries, against in lines
        ),
    ]


async def with_no_units(ledger: Ledger, caller: Caller) -> Ledger:
    """Give a process that knows the reference data, and has read no unit yet."""
    forgetful = replace(ledger, memory=Memory())
    async with asked(forgetful, caller):
        return forgetful


async def told(ledger: Ledger, caller: Caller) -> Impact:
    """Ask for the impact, as the doors do."""
    async with asked(ledger, caller) as question:
        key = (question.as_at, True, 0, "", 0, b"", False)
        criteria = (Criterion(item=ITEM, lot=LOT),)
        return await impact(question, [Opening("rc-bench", key, uuid4(), "p-1", "stop-use", criteria)], None)


async def answered(ledger: Ledger, caller: Caller) -> list[object]:
    """Have it told in a page of all units, with the sums of all and by site, and written as JSON; gives the units."""
    what = Supposed(criteria=(Criterion(item=ITEM, lot=LOT),))
    page = await preview(ledger, caller, what, Wanted(limit=AFFECTED))
    msgspec.json.encode([page.items, page.about])
    return [*page.items]


async def by_hand(pool: Pool, queries: Iterable[Any]) -> list[list[tuple[Any, ...]]]:
    """Ask the queries in a snapshot of their own."""
    (beginning,), first, last = lot_of("stock", ITEM, LOT)
    about = {"after": beginning + first, "ending": f"{beginning}{last}\n"}
    asked_of = {"organisation": OURS, "item": ITEM, "lot": sorting(LOT), **about}
    async with snapshot(pool) as conn:
        return [await (await conn.execute(query, asked_of)).fetchall() for query in queries]


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
