"""Tries: work that others made stale meanwhile is done again, in a transaction of its own each time."""

from collections.abc import Callable, Coroutine
from typing import Any, TypeVar
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.errors import Unavailable
from service.ledger import Ledger
from service.store.errors import StaleContext
from service.store.scope import writing

TRIES = 8
"""How often a decision is taken again before the sender is asked to come back."""

T = TypeVar("T")
Work = Callable[[AsyncConnection], Coroutine[Any, Any, T]]


async def one_try(ledger: Ledger, organisation: UUID, work: Work[T]) -> T | None:
    """Do some work in a transaction of its own; None where it was lost because others came first."""
    try:
        async with writing(ledger.pool, organisation) as conn:
            return await work(conn)
    except StaleContext:
        return None


async def until_fresh(ledger: Ledger, organisation: UUID, work: Work[T]) -> T:
    """Do some work until nobody came first. Raises Unavailable."""
    for _ in range(TRIES):
        done = await one_try(ledger, organisation, work)
        if done is not None:
            return done
    raise Unavailable(Unavailable.CONTENDED)
