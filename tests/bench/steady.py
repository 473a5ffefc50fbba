"""Single posts at 80 % of what each side can do at most, sent at set times: the latency that senders see in use."""

from functools import partial

from tests.bench.comparing import Line
from tests.bench.on_schedule import asked_on_schedule
from tests.bench.servers import Server
from tests.bench.sides import HEAD, Load, Row, best_by_hand, by_hand, make_table, measured, posts, service
from tests.databases.clone import Database

SHARE = 0.8
CONNECTIONS = 128


async def steady(database: Database, load: Load) -> list[str]:
    """Find what each side can do at most, and send it 80 % of that, then 80 % of what the slower one can do.

    Both are fair readings of "no worse": at its own rate each is as busy as the other, at one rate both do the same.
    """
    make_table(database)
    hand_most, size = await best_by_hand(database, load, CONNECTIONS)
    async with service(database, load) as (server, key):
        our_most = await measured("service", server, load, posts(load, key, seed=1), CONNECTIONS)
        hand_rate, our_rate = (SHARE * row.told.per_second for row in (hand_most, our_most))
        slower = min(hand_rate, our_rate)
        ours = await at_rates("service", server, load, key, (our_rate, slower))
    async with by_hand(database.owner_url, size, load.processes) as server:
        hands = await at_rates("by hand", server, load, "none", (hand_rate, slower))
    rows = {row.name: row for row in (hand_most, our_most, *hands, *ours)}
    return [HEAD, *(row.told_in_a_line() for row in rows.values()), *lines(ours, hands)]


async def at_rates(name: str, server: Server, load: Load, key: str, rates: tuple[float, float]) -> list[Row]:
    """Ask at each of two rates (requests a second), once where they are the same."""
    found: dict[float, Row] = {}
    for rate in dict.fromkeys(rates):
        ask = partial(asked_on_schedule, rate=rate)
        every = posts(load, key, seed=2 + len(found))
        found[rate] = await measured(f"{name}, {rate:,.0f} set a second", server, load, every, CONNECTIONS, ask)
    return [found[rate] for rate in rates]


def lines(ours: list[Row], hands: list[Row]) -> list[str]:
    """Compare the latencies of both readings."""
    return [
        Line(
            what=f"p99 at 80 % of {most}",
            ours=our.told.p99,
            against="by hand",
            theirs=hand.told.p99,
            unit="ms",
            reach=1,
            at_most=True,
        ).told()
        for most, our, hand in zip(("its own maximum", "the slower one's maximum"), ours, hands, strict=True)
    ]
