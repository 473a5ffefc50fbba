"""Single posts where a commit takes 2 ms, as on a disk that is slow to say that it has written.

PostgreSQL itself waits so long before it writes its log to disk (`commit_delay`), whoever else commits
(`commit_siblings` 0); those who commit meanwhile share the write, as they do on a slow disk.
"""

from statistics import median
from time import perf_counter

import psycopg
from psycopg.sql import SQL, Identifier, Literal

from tests.bench.posting import posting
from tests.bench.sides import Load
from tests.databases.clone import Database

DELAY = 2000
"""Microseconds."""
REACH = {128: 5.0}


async def slow_commit(database: Database, administrator: str, load: Load) -> list[str]:
    """Measure as single posts are, with slow commits; `administrator` is the URL of a superuser."""
    usual = lone_commit(database.owner_url)
    slow_down(administrator, database.name)
    slow = lone_commit(database.owner_url)
    assert slow[0] >= DELAY / 1e6, slow
    assert shown(database.app_url) == shown(database.owner_url) == {"commit_delay": DELAY, "commit_siblings": 0}
    commits = (
        f"a lone commit of one row takes {slow[0] * 1e3:.2f} ms at least, {slow[1] * 1e3:.2f} in the middle; "
        f"{usual[0] * 1e3:.2f} and {usual[1] * 1e3:.2f} before it was slowed down"
    )
    return [commits, *await posting(database, load, REACH)]


def slow_down(administrator: str, name: str) -> None:
    """Let every commit of the database's coming sessions wait."""
    with psycopg.connect(administrator, autocommit=True) as conn:
        for setting, value in (("commit_delay", DELAY), ("commit_siblings", 0)):
            conn.execute(
                SQL("ALTER DATABASE {} SET {} = {}").format(Identifier(name), Identifier(setting), Literal(value))
            )


def shown(url: str) -> dict[str, int]:
    """Read the settings that a role's sessions have."""
    with psycopg.connect(url) as conn:
        rows = conn.execute(
            "SELECT name, setting::int FROM pg_settings WHERE name IN ('commit_delay', 'commit_siblings')"
        ).fetchall()
    return dict(rows)


def lone_commit(url: str, times: int = 50) -> tuple[float, float]:
    """Give the least and the middle of the seconds that a commit of one row takes while nobody else commits."""
    took = []
    with psycopg.connect(url, autocommit=True) as conn:
        conn.execute("CREATE TABLE IF NOT EXISTS lone (number int)")
        for number in range(times):
            began = perf_counter()
            conn.execute("INSERT INTO lone VALUES (%s)", (number,))
            took.append(perf_counter() - began)
    return min(took), median(took)
