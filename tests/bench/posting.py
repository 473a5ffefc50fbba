"""Single posts over so many connections, beside a handler by hand that inserts the same row and commits."""

from collections.abc import Mapping

from tests.bench.sides import HEAD, Load, Row, best_by_hand, make_table, measured, nothing, posts, service
from tests.databases.clone import Database

REACH: Mapping[int, float] = {32: 1.6, 128: 2.0}
"""The ratio that is wanted with so many connections."""


async def posting(database: Database, load: Load, reach: Mapping[int, float] = REACH) -> list[str]:
    """Measure both with each number of connections, and a handler that does nothing; give the lines."""
    hands, nothings, ours = await compared(database, load, list(reach))
    rows = [*(row for pair in zip(hands, nothings, strict=True) for row in pair), *ours]
    ratios = []
    for hand, *others in zip(hands, nothings, ours, strict=True):
        for other, wanted in zip(others, (None, reach[hand.connections]), strict=True):
            ratio = other.told.per_second / hand.told.per_second
            ratios.append(
                f"{other.name} / by hand at {hand.connections} connections: {ratio:.2f}"
                + ("" if wanted is None else f", at least {wanted:g} is wanted")
            )
    return [HEAD, *(row.told_in_a_line() for row in rows), *ratios]


async def compared(database: Database, load: Load, sizes: list[int]) -> tuple[list[Row], list[Row], list[Row]]:
    """Measure, for each number of connections, the handler by hand with the best of its pools, nothing, the service."""
    make_table(database)
    hands, nothings, ours = [], [], []
    for connections in sizes:
        hands.append((await best_by_hand(database, load, connections))[0])
        nothings.append(await nothing(database, load, connections))
    async with service(database, load) as (server, key):
        for connections in sizes:
            every = posts(load, key, seed=connections)
            ours.append(await measured("service", server, load, every, connections))
    return hands, nothings, ours
