"""What races need: patience, dice that fall alike, and a look at who waits for whom."""

import asyncio
import random

import psycopg

PATIENCE = 60
"""Seconds after which a test that hangs is one that fails."""


def dice_of(seed: int) -> random.Random:
    """Give dice that fall alike each time, so that a failure can be had again."""
    return random.Random(seed)  # noqa: S311 - nothing here is a secret


async def waits(watch: psycopg.AsyncConnection, pid: int) -> bool:
    """Say whether a connection waits for a lock."""
    found = await watch.execute("SELECT cardinality(pg_blocking_pids(%s)) > 0", (pid,))
    return await found.fetchone() == (True,)


async def blocked(conn: psycopg.AsyncConnection, pid: int, task: asyncio.Task[object]) -> bool:
    """Wait until the task is done or its connection waits for a lock; say whether it waits."""
    while not task.done():
        if await waits(conn, pid):
            return True
    return False


async def lock_waited_for(watch: psycopg.AsyncConnection, holder: int) -> None:
    """Wait until somebody waits for a lock of this connection."""
    waiting = "SELECT EXISTS (SELECT FROM pg_stat_activity WHERE %s = ANY (pg_blocking_pids(pid)))"
    while await (await watch.execute(waiting, (holder,))).fetchone() != (True,):
        pass
