"""Growth: the same questions and posts over HTTP while the log grows tenfold, and tenfold again.

Each size is a database of its own, loaded by the bulk path with its last event just now; then the service is started on
it. A size has a fifth as many units as events, up to 200,000, so that from a million events on the log alone grows.
"""

from collections.abc import Iterator
from itertools import islice
from random import Random
from time import perf_counter

import msgspec
import psycopg

from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.bench.client import Told, asked, request
from tests.bench.firm import made_firm, made_key
from tests.bench.scale.bulk import load
from tests.bench.scale.live import checks
from tests.bench.scale.sampling import differing
from tests.bench.scale.shape import Shape, just_now, shape_of, tag_of
from tests.bench.servers import started
from tests.databases.clone import Database, Template, cloned
from tests.http.doors import OURS

SIZES = (10_000, 100_000, 1_000_000, 10_000_000)
BATCH = 500
CONNECTIONS = 32
SAMPLED = 100
"""Kins of each size that are folded again from their events and compared with what is stored."""


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """What was measured at one size; times are the middle of many, in ms."""

    events: int
    units: int
    loaded: float
    posts: float
    post: float
    batch: float
    summary: float
    unit: float
    feed: float
    disk: int


HEAD = (
    f"{'events':>12}{'units':>10}{'loaded/s':>10}{'posts/s':>9}{'post ms':>9}{'batch ms':>10}{'summary ms':>12}"
    f"{'unit ms':>9}{'feed ms':>9}{'disk MB':>10}{'bytes/event':>13}"
)


async def growth(template: Template, *, count: int, to: int) -> list[str]:
    """Measure every size up to `to` with `count` single posts each; tell each when it is done, and give the ratios."""
    print(HEAD, flush=True)
    measured: list[Size] = []
    for events in (size for size in SIZES if size <= to):
        with cloned(template) as database:
            measured.append(await at(database, events, count))
        print(told(measured[-1]), flush=True)
    return [compared(size, measured[0]) for size in measured[1:]]


def told(size: Size) -> str:
    """Write the line of a size."""
    return (
        f"{size.events:>12,}{size.units:>10,}{size.loaded:>10,.0f}{size.posts:>9,.0f}{size.post:>9.1f}"
        f"{size.batch:>10.1f}{size.summary:>12.1f}{size.unit:>9.1f}{size.feed:>9.1f}{size.disk / 1e6:>10,.0f}"
        f"{size.disk / size.events:>13,.0f}"
    )


def compared(size: Size, least: Size) -> str:
    """Write a size by the smallest: how many times as long each takes."""
    ratios = {
        "a post among many": least.posts / size.posts,
        "a post": size.post / least.post,
        "a batch": size.batch / least.batch,
        "the summary": size.summary / least.summary,
        "a unit": size.unit / least.unit,
        "a feed page": size.feed / least.feed,
    }
    times = ", ".join(f"{what} {ratio:.2f}" for what, ratio in ratios.items())
    return (
        f"{size.events / least.events:.0f} x the events and {size.units / least.units:.0f} x the units of the smallest "
        f"take, times as long: {times}"
    )


async def at(database: Database, events: int, count: int) -> Size:
    """Load so many events, and measure. Raises AssertionError where the sample differs from what its events say."""
    shape = shape_of(events, just_now())
    key = await made_firm(database.owner_url)
    began = perf_counter()
    loaded = await load(database.owner_url, shape, (OURS, await made_key(database.owner_url)))
    seconds = perf_counter() - began
    await demand_true(database, shape)
    disk = size_of(database)
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    async with started(("service", "serve", "--door", "DOOR"), environment, 1) as server:
        asking = Asking(server.port, key, shape)
        await asking.posts(200)
        posts = await asking.posts(count)
        return Size(
            events=loaded.events,
            units=loaded.units,
            loaded=loaded.events / seconds,
            posts=posts.per_second,
            post=posts.p50,
            batch=await asking.batches(max(2, count // 1000)),
            summary=await asking.gets(["/v1/compliance"] * 5),
            unit=await asking.gets([f"/v1/assets/{tag}" for tag in asking.tags(200)]),
            feed=await asking.gets([f"/v1/events?limit=100&after={seq}" for seq in asking.seqs(200, loaded.events)]),
            disk=disk,
        )


async def demand_true(database: Database, shape: Shape) -> None:
    """Demand that a sample of kins is as its events say."""
    async with await connect(database.owner_url) as conn, conn.transaction():
        await set_organisation(conn, OURS)
        checked, found = await differing(conn, OURS, every=max(1, shape.units // SAMPLED))
    assert checked >= min(SAMPLED, shape.units), checked
    assert found == [], found


def size_of(database: Database) -> int:
    """Give the bytes of a database."""
    with psycopg.connect(database.owner_url) as conn:
        row = conn.execute("SELECT pg_database_size(current_database())").fetchone()
    assert row is not None
    return int(row[0])


class Asking:
    """Posts and questions to one server, each measurement after a first of its sort."""

    def __init__(self, port: int, key: str, shape: Shape) -> None:
        self._port, self._key, self._shape = port, key, shape
        self._random = Random(shape.seed)  # noqa: S311 -- guards nothing
        self._runs = 0

    def _checks(self, number: int) -> Iterator[bytes]:
        self._runs += 1
        return checks(self._shape, number, seed=str(self._runs))

    async def posts(self, number: int) -> Told:
        """Post checks one by one."""
        told = await asked(self._port, (request(self._key, body) for body in self._checks(number)), CONNECTIONS)
        assert told.statuses == {201: number}, told.statuses
        return told

    async def batches(self, number: int) -> float:
        """Post batches one after the other, and give the time of one."""
        bodies = self._checks(BATCH * (number + 1))
        cut = [request(self._key, b"[" + b",".join(islice(bodies, BATCH)) + b"]") for _ in range(number + 1)]
        await asked(self._port, iter(cut[:1] * 2), 1)
        told = await asked(self._port, iter(cut[1:]), 1)
        assert told.statuses == {207: number}, told.statuses
        return told.p50

    async def gets(self, paths: list[str]) -> float:
        """Ask one after the other, and give the time of one."""
        questions = [
            f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {self._key}\r\n\r\n".encode()
            for path in paths
        ]
        await asked(self._port, iter(questions[:2]), 1)
        told = await asked(self._port, iter(questions), 1)
        assert told.statuses == {200: len(paths)}, told.statuses
        return told.p50

    def tags(self, number: int) -> list[str]:
        """Choose units."""
        return [tag_of(self._random.randrange(self._shape.units)) for _ in range(number)]

    def seqs(self, number: int, events: int) -> list[int]:
        """Choose places in the log."""
        return [self._random.randrange(events) for _ in range(number)]
