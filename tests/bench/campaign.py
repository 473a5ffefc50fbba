"""A campaign's orders over HTTP, beside as many single posts that order other units out of use by hand.

The units are those of the firm of the benchmark, in issue. Half of them come under a recall by their serial numbers and
are ordered by asking until it is done, as many at a time as one request may; the other half are quarantined by a post
each, over so many connections at once.
"""

from datetime import UTC, datetime
from time import perf_counter
from typing import Any

import httpx
import msgspec

from service.campaign import MOST
from tests.bench.client import asked, request
from tests.bench.comparing import Line
from tests.bench.firm import site_of, tag_of
from tests.bench.sides import Load, service
from tests.databases.clone import Database
from tests.http.firm import message

RECALL = "rc-bench"
CONNECTIONS = 32
SECONDS = 600


async def campaign(database: Database, load: Load) -> list[Line]:
    """Measure both on one firm: the posts by hand first, since what they order is no unit of the recall."""
    half = min(load.units, load.count) // 2
    async with service(database, load) as (server, key):
        told = await asked(server.port, (request(key, by_hand(half + nth)) for nth in range(half)), CONNECTIONS)
        assert told.statuses == {201: half}, told.statuses
        headers = {"Authorization": f"Bearer {key}"}
        base = f"http://127.0.0.1:{server.port}"
        async with httpx.AsyncClient(base_url=base, headers=headers, timeout=SECONDS) as http:
            opened = await http.post("/v1/events", json=opening(half))
            assert opened.status_code == 201, opened.text
            began = perf_counter()
            ordered = await stopped(http)
            seconds = perf_counter() - began
    assert ordered == half, (ordered, half)
    return [
        Line(
            what=f"campaign, {half:,} units ordered out of use",
            ours=half / seconds,
            against=f"a post a unit, {CONNECTIONS} connections",
            theirs=told.per_second,
            unit="units/s",
            reach=1,
        )
    ]


def by_hand(number: int) -> bytes:
    """Write the order of one unit as somebody would post it."""
    now = datetime.now(UTC).isoformat()
    order = message("quarantined", asset=tag_of(number), site=site_of(number), reason="other", occurred_at=now)
    return msgspec.json.encode(order)


def opening(half: int) -> dict[str, Any]:
    """Recall the first half of the units."""
    first, last = (f"NW-{tag_of(number)}" for number in (0, half - 1))
    criteria = [{"serial_from": first, "serial_to": last}]
    now = datetime.now(UTC).isoformat()
    return message("recall-opened", recall=RECALL, action="stop-use", criteria=criteria, occurred_at=now)


async def stopped(http: httpx.AsyncClient) -> int:
    """Ask until it is done, and give how many units were ordered."""
    ordered, done = 0, False
    while not done:
        answered = await http.post(f"/v1/recalls/{RECALL}/quarantine", json={"by": "p-1001", "limit": MOST})
        assert answered.status_code == 200, answered.text
        ordered, done = ordered + answered.json()["quarantined"], answered.json()["done"]
    return ordered
