"""In turn: one writer of an organisation at a time, and what decisions rest on before what follows it."""

from collections.abc import Sequence
from functools import partial
from itertools import groupby
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.errors import Unavailable
from service.known import Memory
from service.ledger import Ledger
from service.recording.attempt import Attempt, attempt
from service.recording.incoming import Read, Receipt
from service.recording.receipts import receipts_of
from service.recording.references import is_context
from service.recording.tries import TRIES, one_try


async def record_all(ledger: Ledger, organisation: UUID, reads: Sequence[Read]) -> list[Receipt]:
    """Record messages in their order, with nobody else of this process in between. Raises Unavailable."""
    receipts: list[Receipt] = []
    async with ledger.turns.of(organisation):
        for _, group in groupby(reads, key=_carries_context):
            receipts += await _group(ledger, organisation, list(group))
    return receipts


def _carries_context(one: Read) -> bool:
    return one.event is not None and is_context(one.event)


async def _group(ledger: Ledger, organisation: UUID, reads: list[Read]) -> list[Receipt]:
    """Record a group, deciding again what others made stale meanwhile."""
    receipts: dict[int, Receipt] = {}
    left = list(range(len(reads)))
    for _ in range(TRIES):
        if not left:
            break
        now = [reads[place] for place in left]
        tried = await one_try(ledger, organisation, partial(_tried, organisation, ledger.memory, now))
        if tried is not None:
            settled = await receipts_of(ledger, organisation, now, tried)
            receipts |= {left[place]: receipt for place, receipt in settled.items()}
            left = [place for place in left if place not in receipts]
    if left:
        raise Unavailable
    return [receipts[place] for place in range(len(reads))]


async def _tried(organisation: UUID, memory: Memory, reads: Sequence[Read], conn: AsyncConnection) -> Attempt:
    return await attempt(conn, organisation, memory, reads)
