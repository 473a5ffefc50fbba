"""The feed waited for while writers press: whoever waits for it is told everything once and in its order."""

import asyncio

import psycopg

from service.app import now
from service.domain.caller import Caller
from service.follow import Followed, page
from service.ledger import Ledger
from service.page import number
from service.store.append import append
from service.store.scope import set_organisation
from tests.store.making import KEY, Desk, an_entry
from tests.store.racing import PATIENCE
from tests.store.test_feed_race import PRESS, pressed

LAST = 2 * PRESS.count(False)


async def told(ledger: Ledger, caller: Caller, followed: Followed, limit: int, last: int) -> list[int]:
    """Wait for page after page up to a seq, and give the seqs of what was told."""
    seqs: list[int] = []
    after = 0
    while after < last:
        found = await page(ledger, caller, followed, after=after, limit=limit, seconds=PATIENCE)
        seqs += [event["seq"] for event in found.items if isinstance(event["seq"], int)]
        after = number(found.next)
    return seqs


async def test_who_waits_for_the_feed_misses_nothing(desk: Desk) -> None:
    """However writers press, and give up after they have written, who waits is told 1, 2, 3 ... to the end."""
    ledger = Ledger(pool=desk.pool, clock=now)
    caller = Caller(organisation=desk.organisation, key=KEY, role="integrator")

    async def write(conn: psycopg.AsyncConnection) -> object:
        await set_organisation(conn, desk.organisation)
        return await append(conn, desk.organisation, context_seq=0, entries=[an_entry(), an_entry(site="east-yard")])

    async def nothing(after: int) -> list[int]:
        return [after]

    async with asyncio.timeout(PATIENCE):
        waiting = [asyncio.create_task(told(ledger, caller, Followed(), limit, LAST)) for limit in (1, 3, 100)]
        waiting.append(asyncio.create_task(told(ledger, caller, Followed(subject="item:filter-a"), 3, LAST)))
        bound = Caller(organisation=desk.organisation, key=KEY, role="integrator", sites=frozenset({"east-yard"}))
        waiting.append(asyncio.create_task(told(ledger, bound, Followed(), 2, LAST)))
        await pressed(desk, write, nothing, PRESS)
        *whole, of_a_site = [await one for one in waiting]

    assert whole == [list(range(1, LAST + 1))] * 4
    assert of_a_site == list(range(2, LAST + 1, 2))
    ledger.heads.end()
    await ledger.heads.finished()
