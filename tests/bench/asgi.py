"""The same two handlers behind the server of the service and behind another: what a change of server would give."""

from contextlib import AbstractAsyncContextManager

import msgspec

from tests.bench.servers import Server, started_on_port
from tests.bench.sides import HEAD, Load, Row, Start, best_by_hand, by_hand, make_table, nothing
from tests.databases.clone import Database

CONNECTIONS = 128
GRANIAN = (
    *("granian", "--interface", "asgi", "--loop", "uvloop", "--http", "1", "--no-ws", "--no-log"),
    *("--host", "127.0.0.1", "--port", "PORT", "--backlog", "2048", "--factory", "tests.bench.bare:from_environment"),
)


async def asgi(database: Database, load: Load) -> list[str]:
    """Measure both handlers behind both servers, the one by hand with the best of its pools behind each."""
    uvicorn = await behind("uvicorn", by_hand, database, load)
    granian = await behind("granian", under_granian, database, load)
    ratios = [
        f"granian / uvicorn, {what}: {theirs.told.per_second / ours.told.per_second:.2f}"
        for what, ours, theirs in zip(("nothing", "by hand"), uvicorn, granian, strict=True)
    ]
    return [HEAD, *(row.told_in_a_line() for row in (*uvicorn, *granian)), *ratios]


async def behind(name: str, start: Start, database: Database, load: Load) -> list[Row]:
    """Measure both handlers behind one server, from an empty table on."""
    make_table(database)
    hand, _ = await best_by_hand(database, load, CONNECTIONS, start)
    rows = [await nothing(database, load, CONNECTIONS, start), hand]
    return [msgspec.structs.replace(row, name=f"{name}: {row.name}") for row in rows]


def under_granian(url: str, size: int, processes: int) -> AbstractAsyncContextManager[Server]:
    """Start the handler by hand with so many workers of granian."""
    environment = {"DATABASE_URL": url, "POOL": str(size)}
    return started_on_port((*GRANIAN, "--workers", str(processes)), environment)
