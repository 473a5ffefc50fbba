"""In turn: messages of an organisation that come together are recorded together, one group at a time.

What decisions rest on goes before what follows it. A group that the database or our own code fails at is halved until
what it fails at is alone: nobody else is held up by it, and its sender is told of that one message alone. What the
moment is to blame for is told of all that came with it.
"""

from collections.abc import Sequence
from functools import partial
from itertools import groupby
from uuid import UUID

import structlog
from psycopg import AsyncConnection

from service.domain.errors import InvalidKey, LedgerError, Unavailable
from service.domain.kinds.voided import Voided
from service.known import Memory
from service.ledger import Ledger
from service.problems import FAILED, status_of
from service.recording.attempt import Attempt, attempt
from service.recording.gist import gist
from service.recording.incoming import Read, Receipt
from service.recording.receipts import receipts_of_others, receipts_of_recorded
from service.recording.references import is_context
from service.recording.tries import Tries
from service.store.enter import Entered, entering
from service.store.errors import is_passing

Outcome = Receipt | Exception

log = structlog.get_logger()


async def record_all(ledger: Ledger, organisation: UUID, reads: Sequence[Read]) -> list[Receipt]:
    """Record messages in their order, together with what others post at the same time.

    They are recorded even if their sender hangs up meanwhile. One that the database or our own code fails at has a
    receipt that says so. Raises Unavailable, Overloaded, InvalidKey where the key has ended since it was looked at, and
    what the database says where the moment is to blame.
    """
    size = sum(len(one.incoming.raw) for one in reads)
    outcomes = await ledger.gathering.join(organisation, reads, partial(_together, ledger, organisation), size=size)
    ledger.heads.recorded(organisation)
    for outcome in outcomes:
        if isinstance(outcome, Exception) and (isinstance(outcome, LedgerError) or is_passing(outcome)):
            raise outcome
    return [
        _failed(one, outcome) if isinstance(outcome, Exception) else outcome
        for one, outcome in zip(reads, outcomes, strict=True)
    ]


def _failed(one: Read, error: Exception) -> Receipt:
    """Give the receipt of a message that we failed at, and log how; the sender learns nothing of our inside."""
    log.error("message failed", exc_info=error)
    return Receipt(id=gist(one).id, status=status_of(FAILED), problem=FAILED)


async def _together(ledger: Ledger, organisation: UUID, reads: Sequence[Read]) -> list[Outcome]:
    """Record messages with nobody else of this process in between."""
    outcomes: list[Outcome] = []
    async with ledger.turns.of(organisation):
        for _, group in groupby(reads, key=_carries_context):
            outcomes += await _halved(ledger, organisation, list(group))
    return outcomes


def _carries_context(one: Read) -> bool:
    """Say whether what follows may rest on the message: a voiding may be of what decisions rest on."""
    return one.event is not None and (is_context(one.event) or isinstance(one.event, Voided))


async def _halved(ledger: Ledger, organisation: UUID, reads: Sequence[Read]) -> list[Outcome]:
    """Record a group; where that fails, what is left of it by halves."""
    receipts: dict[int, Outcome] = {}
    try:
        await _group(ledger, organisation, reads, receipts)
    except Exception as error:  # noqa: BLE001 -- whoever sent what it is about is told
        left = [place for place in range(len(reads)) if place not in receipts]
        if len(left) == 1 or isinstance(error, Unavailable) or is_passing(error):
            receipts |= dict.fromkeys(left, error)
        else:
            middle = len(left) // 2
            for half in (left[:middle], left[middle:]):
                outcomes = await _halved(ledger, organisation, [reads[place] for place in half])
                receipts |= dict(zip(half, outcomes, strict=True))
    return [receipts[place] for place in range(len(reads))]


async def _group(ledger: Ledger, organisation: UUID, reads: Sequence[Read], receipts: dict[int, Outcome]) -> None:
    """Record a group, deciding again what others made stale meanwhile; what is settled is put into `receipts`."""
    left = list(range(len(reads)))
    tries = Tries()
    for alone in tries:
        now = [reads[place] for place in left]
        keys = {one.incoming.sender.key for one in now if one.incoming.kept is None}
        transaction = entering(ledger.pool, organisation, keys, ledger.clock(), alone=alone)
        tried = await tries.one(transaction, partial(_tried, organisation, ledger.memory, now))
        if tried is not None:
            ended, attempted = tried
            receipts |= {left[place]: InvalidKey() for place in ended}
            valid = [place for nth, place in enumerate(left) if nth not in ended]
            mine = [reads[place] for place in valid]
            recorded = receipts_of_recorded(mine, attempted, ledger.clock())
            receipts |= {valid[place]: receipt for place, receipt in recorded.items()}
            others = await receipts_of_others(ledger, organisation, mine, attempted)
            receipts |= {valid[place]: receipt for place, receipt in others.items()}
            left = [place for place in left if place not in receipts]
        if not left:
            return
    raise Unavailable(Unavailable.CONTENDED)


async def _tried(
    organisation: UUID, memory: Memory, reads: Sequence[Read], entered: tuple[AsyncConnection, Entered]
) -> tuple[set[int], Attempt]:
    """Try what came with keys that are valid still, and give the places of what did not."""
    conn, begun = entered
    gone = set(begun.ended)
    ended = {nth for nth, one in enumerate(reads) if one.incoming.kept is None and one.incoming.sender.key in gone}
    valid = [one for nth, one in enumerate(reads) if nth not in ended]
    return ended, await attempt(conn, organisation, begun, memory, valid)
