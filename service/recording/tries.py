"""Tries: work that others made stale meanwhile is done again, in a transaction of its own each time."""

from collections.abc import AsyncIterator, Callable, Coroutine, Iterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from time import monotonic
from typing import Any, Final, TypeVar
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.errors import Unavailable
from service.ledger import Ledger
from service.store.enter import entering
from service.store.errors import StaleContext

TRIES = 8
"""How often a decision is taken before the sender is asked to come back."""
OPTIMISTIC = 3
"""How often at most it is taken in the hope that nobody comes first; from then on everybody else is kept out."""
LONG: Final = 2.0
"""Seconds of work in such hope: a recall dated back may take as long each time, with somebody always first."""

T = TypeVar("T")
C = TypeVar("C")


class Tries:
    """The tries of one decision: of each it says whether everybody else is kept out."""

    def __init__(self) -> None:
        self._worked = 0.0

    def __iter__(self) -> Iterator[bool]:
        """Begin one try after another, as long as not all is settled."""
        for nth in range(TRIES):
            yield nth >= OPTIMISTIC or self._worked > LONG

    async def one(
        self, transaction: AbstractAsyncContextManager[C], work: Callable[[C], Coroutine[Any, Any, T]]
    ) -> T | None:
        """Do some work in a transaction of its own; None where it was lost because others came first.

        To wait for the transaction is no work.
        """
        try:
            async with transaction as opened:
                began = monotonic()
                try:
                    return await work(opened)
                finally:
                    self._worked += monotonic() - began
        except StaleContext:
            return None


async def until_fresh(
    ledger: Ledger, organisation: UUID, work: Callable[[AsyncConnection], Coroutine[Any, Any, T]]
) -> T:
    """Do some work until nobody came first. Raises Unavailable."""
    tries = Tries()
    for alone in tries:
        done = await tries.one(_opened(ledger, organisation, alone=alone), work)
        if done is not None:
            return done
    raise Unavailable(Unavailable.CONTENDED)


@asynccontextmanager
async def _opened(ledger: Ledger, organisation: UUID, *, alone: bool) -> AsyncIterator[AsyncConnection]:
    async with entering(ledger.pool, organisation, (), ledger.clock(), alone=alone) as (conn, _):
        yield conn
