"""Receipts: what the senders of messages are told once their fate is settled; what is refused is kept first."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from functools import partial
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.errors import ContentClash, ContradictsHistory, Refused, UnknownReference
from service.known import Memory
from service.ledger import Ledger
from service.problems import status_of
from service.recording.accepted import Accepted, Again
from service.recording.attempt import Attempt
from service.recording.gist import gist
from service.recording.incoming import Read, Receipt, Repeat
from service.recording.keeping import Arrived, Kept, keep
from service.recording.showing import Sites, asset_now, asset_of, conflicts_now, conflicts_of
from service.recording.tries import until_fresh
from service.store.scope import writing


def receipts_of_recorded(reads: Sequence[Read], tried: Attempt, now: datetime) -> dict[int, Receipt]:
    """Give the receipts of what is recorded, by place; what is stale has none."""
    found: dict[int, Receipt] = {}
    for place, (one, decided) in enumerate(zip(reads, tried.decisions, strict=True)):
        if isinstance(decided, Accepted | Again):
            receipt = _told(decided, tried, now, one.incoming.sender.sites)
            if receipt is not None:
                found[place] = receipt
    return found


async def receipts_of_others(
    ledger: Ledger, organisation: UUID, reads: Sequence[Read], tried: Attempt
) -> dict[int, Receipt]:
    """Give the receipts of repeats and refusals, by place; what has to be decided again has none.

    Raises Unavailable.
    """
    placed = list(enumerate(zip(reads, tried.decisions, strict=True)))
    stale = any(outcome.outcome != "recorded" for outcome in tried.outcomes.values())
    repeated = [(place, one, decided) for place, (one, decided) in placed if isinstance(decided, Repeat)]
    refused = [
        (place, one, decided)
        for place, (one, decided) in placed
        if isinstance(decided, Refused) and not (stale and isinstance(decided, ContradictsHistory))
    ]  # what an event contradicts that is stale may yet be decided otherwise
    again = await _again(ledger, organisation, repeated, ledger.clock())
    return again | await _kept(ledger, organisation, refused)


async def _again(
    ledger: Ledger, organisation: UUID, repeated: Sequence[tuple[int, Read, Repeat]], now: datetime
) -> dict[int, Receipt]:
    """Give the receipts of repeats: what was told then, and the units as they are now."""
    if not repeated:
        return {}
    async with writing(ledger.pool, organisation) as conn:
        return {
            place: await _repeated(conn, organisation, repeat, now, one.incoming.sender.sites)
            for place, one, repeat in repeated
        }


def _told(decided: Accepted | Again, tried: Attempt, now: datetime, sites: Sites) -> Receipt | None:
    accepted = decided.accepted if isinstance(decided, Again) else decided
    outcome = tried.outcomes[accepted.recorded.event.id]
    if outcome.outcome != "recorded":
        return None
    return Receipt(
        id=outcome.id,
        status=200 if isinstance(decided, Again) or accepted.replaces else 201,
        outcome="repeated" if isinstance(decided, Again) else "recorded",
        seq=outcome.seq,
        recorded_at=outcome.recorded_at,
        conflicts=conflicts_of(tried.desk, accepted, now, sites),
        asset=asset_of(tried.desk, accepted, now, sites),
    )


async def _repeated(conn: AsyncConnection, organisation: UUID, repeat: Repeat, now: datetime, sites: Sites) -> Receipt:
    row = repeat.recorded
    return Receipt(
        id=row.event.id,
        status=200,
        outcome="repeated",
        seq=row.seq,
        recorded_at=row.recorded_at,
        conflicts=await conflicts_now(conn, organisation, row.event, repeat.conflicts, now, sites),
        asset=await asset_now(conn, organisation, row.event, now, sites),
    )


async def _kept(ledger: Ledger, organisation: UUID, refused: Sequence[tuple[int, Read, Refused]]) -> dict[int, Receipt]:
    """Keep refused messages and give their receipts. One that is tried again is kept already.

    One has none that was to wait for what has come meanwhile: it is decided again.
    """
    new = [(one, error) for _, one, error in refused if _is_new(one, error)]
    kept: Iterator[Kept] = iter(())
    if new:
        try:
            kept = iter(await until_fresh(ledger, organisation, partial(_keeping, organisation, ledger.memory, new)))
        except Arrived as arrived:
            left = [told for told in refused if arrived.references.isdisjoint(_waited_for(told[2]))]
            return await _kept(ledger, organisation, left)
    found: dict[int, Receipt] = {}
    for place, one, error in refused:
        now = next(kept) if _is_new(one, error) else Kept(one.incoming.kept, error.problem())
        found[place] = Receipt(
            id=gist(one).id,
            status=status_of(now.problem),
            problem=now.problem,
            rejected=now.rejected,
        )
    return found


async def _keeping(
    organisation: UUID, memory: Memory, new: Sequence[tuple[Read, Refused]], conn: AsyncConnection
) -> list[Kept]:
    return await keep(conn, organisation, memory, new)


def _waited_for(error: Refused) -> frozenset[str]:
    """Name what a message lacks."""
    return frozenset(error.references) if isinstance(error, UnknownReference) else frozenset()


def _is_new(one: Read, error: Refused) -> bool:
    """Say whether a refused message is to be kept.

    Of one that was not to contradict the history nothing is, nor of an order that somebody gave otherwise meanwhile.
    """
    overtaken = one.incoming.ordered and isinstance(error, ContentClash)
    return one.incoming.kept is None and not overtaken and not isinstance(error, ContradictsHistory)
