"""A late event on a unit with a long history, beside a fresh event on it: in process, without HTTP."""

from datetime import UTC, datetime, timedelta
from statistics import median
from uuid import uuid4

import msgspec

from service.domain.caller import Caller
from service.ledger import Ledger
from service.store.connecting import make_pool
from tests.bench.comparing import Line
from tests.bench.firm import made_firm, made_key
from tests.bench.in_process import take
from tests.databases.clone import Database
from tests.http.doors import OURS
from tests.http.firm import checked, issued, model, registered, site

APART = timedelta(minutes=40)
BATCH = 500
LATENESSES = {"an hour": timedelta(hours=1), "a day": timedelta(days=1), "30 days": timedelta(days=30)}


async def late(database: Database, *, history: int, samples: int) -> list[Line]:
    """Make a unit with so many events, the last just now, and record fresh and late ones in turn."""
    await made_firm(database.owner_url)
    caller = Caller(organisation=OURS, key=await made_key(database.owner_url), role="administrator")
    now = datetime.now(UTC)
    begun = now - APART * (history + 2)
    async with make_pool(database.app_url, 2) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        stamp = begun.isoformat()
        await post(ledger, caller, [site("dock"), model()], imported=True)
        there = [registered("L-1", site="dock", occurred_at=stamp), issued("L-1", site="dock", occurred_at=stamp)]
        await post(ledger, caller, there, imported=True)
        for start in range(0, history, BATCH):
            batch = [check(begun + APART * (number + 1)) for number in range(start, min(start + BATCH, history))]
            await post(ledger, caller, batch, imported=True)
        fresh: list[float] = []
        delayed: dict[str, list[float]] = {name: [] for name in LATENESSES}
        for number in range(samples):
            fresh.append(await post(ledger, caller, [check(datetime.now(UTC))]))
            for name, lateness in LATENESSES.items():
                moment = datetime.now(UTC) - lateness + timedelta(seconds=number)
                delayed[name].append(await post(ledger, caller, [check(moment)]))
    return [
        Line(
            what=f"event late by {name}, of {history:,}",
            ours=median(delayed[name]) * 1e3,
            against="a fresh event on the same unit",
            theirs=median(fresh) * 1e3,
            unit="ms",
            reach=3,
            at_most=True,
        )
        for name in LATENESSES
    ]


def check(at: datetime) -> dict[str, object]:
    """Check the unit."""
    return checked("L-1", id=str(uuid4()), site="dock", occurred_at=at.isoformat())


async def post(ledger: Ledger, caller: Caller, messages: list[dict[str, object]], *, imported: bool = False) -> float:
    """Record messages, and give the seconds it took. Raises AssertionError where one is not recorded."""
    return await take(ledger, caller, [msgspec.json.encode(message) for message in messages], imported=imported)
