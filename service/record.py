"""Record what happened: load, decide, append.

Every message is decided by itself; none fails its neighbours. What is acknowledged is on disk, and what was derived
from it with it. Events that decisions rest on (reference data, persons) are recorded before what follows them.
"""

from collections.abc import Callable, Coroutine, Iterator, Sequence
from datetime import datetime
from functools import partial
from itertools import groupby
from typing import Any, TypeVar
from uuid import UUID, uuid4

import msgspec
from psycopg import AsyncConnection

from service.domain.caller import Caller
from service.domain.errors import (
    AlreadySettled,
    Forbidden,
    Malformed,
    NotFound,
    NotJson,
    Refused,
    Unavailable,
)
from service.known import Memory
from service.ledger import Ledger
from service.problems import status_of
from service.recording.accepted import Accepted, Again
from service.recording.admission import read
from service.recording.attempt import Attempt, attempt, report_anew
from service.recording.authority import has_authority
from service.recording.demands import UNSAID
from service.recording.desk import Desk
from service.recording.incoming import Incoming, Read, Receipt, Repeat, Sender
from service.recording.references import DEFINED_BY, is_context
from service.recording.refusing import keep
from service.recording.showing import asset_now, asset_of
from service.store.errors import StaleContext
from service.store.lock_kins import lock_kins
from service.store.position import position
from service.store.rejected_message import rejected_message
from service.store.rejected_messages import RejectedMessage
from service.store.scope import writing
from service.store.settle import settle

__all__ = ["Receipt", "dismiss", "put_reference", "record", "retry"]

TRIES = 8
"""How often a decision is taken again before the sender is asked to come back."""

T = TypeVar("T")


async def record(
    ledger: Ledger,
    caller: Caller,
    messages: Sequence[bytes],
    *,
    received_at: datetime,
    sent_at: datetime | None,
    imported: bool = False,
) -> list[Receipt]:
    """Record messages, each the text of one JSON object; give a receipt for each, in their order.

    Raises Unavailable when others kept the organisation's log too busy; what was recorded by then is only repeated.
    """
    sender = Sender(
        key=caller.key,
        role=caller.role,
        sites=caller.sites,
        received_at=received_at,
        sent_at=sent_at,
        imported=imported,
    )
    reads = [read(Incoming(raw=message, sender=sender)) for message in messages]
    return await _recorded(ledger, caller.organisation, reads)


async def _recorded(ledger: Ledger, organisation: UUID, reads: Sequence[Read]) -> list[Receipt]:
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
        tried = await _transaction(ledger, organisation, partial(_tried, organisation, ledger.memory, now))
        if tried is not None:
            settled = await _receipts(ledger, organisation, now, tried)
            receipts |= {left[place]: receipt for place, receipt in settled.items()}
            left = [place for place in left if place not in receipts]
    if left:
        raise Unavailable
    return [receipts[place] for place in range(len(reads))]


async def _tried(organisation: UUID, memory: Memory, reads: Sequence[Read], conn: AsyncConnection) -> Attempt:
    return await attempt(conn, organisation, memory, reads)


async def _transaction(
    ledger: Ledger, organisation: UUID, work: Callable[[AsyncConnection], Coroutine[Any, Any, T]]
) -> T | None:
    """Do some work in a transaction of its own; None where it was lost because others came first."""
    try:
        async with writing(ledger.pool, organisation) as conn:
            return await work(conn)
    except StaleContext:
        return None


async def _receipts(ledger: Ledger, organisation: UUID, reads: Sequence[Read], tried: Attempt) -> dict[int, Receipt]:
    """Give the receipts of what is settled, by place; what is stale has none."""
    now = ledger.clock()
    found: dict[int, Receipt] = {}
    refused: list[tuple[int, Read, Refused]] = []
    for place, (one, decided) in enumerate(zip(reads, tried.decisions, strict=True)):
        if isinstance(decided, Refused):
            refused.append((place, one, decided))
        elif isinstance(decided, Repeat):
            async with writing(ledger.pool, organisation) as conn:
                found[place] = await _repeated(conn, organisation, decided, now)
        else:
            receipt = _told(decided, tried, now)
            if receipt is not None:
                found[place] = receipt
    return found | await _kept(ledger, organisation, refused)


def _told(decided: Accepted | Again, tried: Attempt, now: datetime) -> Receipt | None:
    accepted = decided.accepted if isinstance(decided, Again) else decided
    outcome = tried.outcomes[accepted.recorded.event.id]
    if outcome.outcome != "recorded":
        return None
    return Receipt(
        id=outcome.id,
        status=200 if isinstance(decided, Again) else 201,
        outcome="repeated" if isinstance(decided, Again) else "recorded",
        seq=outcome.seq,
        recorded_at=outcome.recorded_at,
        conflicts=tried.desk.conflicts(accepted),
        asset=asset_of(tried.desk, accepted, now),
    )


async def _repeated(conn: AsyncConnection, organisation: UUID, repeat: Repeat, now: datetime) -> Receipt:
    row = repeat.recorded
    return Receipt(
        id=row.event.id,
        status=200,
        outcome="repeated",
        seq=row.seq,
        recorded_at=row.recorded_at,
        conflicts=repeat.conflicts,
        asset=await asset_now(conn, organisation, row.event, now),
    )


async def _kept(ledger: Ledger, organisation: UUID, refused: Sequence[tuple[int, Read, Refused]]) -> dict[int, Receipt]:
    """Keep refused messages and give their receipts. One that is tried again is kept already."""
    new = [(one, error) for _, one, error in refused if one.incoming.kept is None]
    ids: Iterator[UUID] = iter(await _until_kept(ledger, organisation, new))
    return {
        place: Receipt(
            id=None if one.event is None else one.event.id,
            status=status_of(error.problem()),
            problem=error.problem(),
            rejected=one.incoming.kept or next(ids),
        )
        for place, one, error in refused
    }


async def _until_kept(ledger: Ledger, organisation: UUID, refused: list[tuple[Read, Refused]]) -> list[UUID]:
    if not refused:
        return []
    for _ in range(TRIES):
        ids = await _transaction(ledger, organisation, lambda conn: keep(conn, organisation, ledger.memory, refused))
        if ids is not None:
            return ids
    raise Unavailable


async def retry(ledger: Ledger, caller: Caller, rejected_id: UUID) -> Receipt:
    """Try a rejected message again as it came, by the caller's authority, as of its first receipt.

    Raises NotFound and AlreadySettled.
    """
    async with writing(ledger.pool, caller.organisation) as conn:
        row = await _open_message(conn, caller, rejected_id)
    sender = Sender(
        key=caller.key,
        role=caller.role,
        sites=caller.sites,
        received_at=row.received_at,
        sent_at=row.sent_at,
        imported=row.imported,
    )
    one = read(Incoming(raw=row.body or b"", sender=sender, kept=rejected_id))
    receipt = (await _recorded(ledger, caller.organisation, [one]))[0]
    if receipt.outcome == "repeated":
        await _settled(ledger, caller, row, state="accepted", accepted_seq=receipt.seq)
    return receipt


async def dismiss(ledger: Ledger, caller: Caller, rejected_id: UUID, reason: str) -> dict[str, object]:
    """Settle a rejected message for good without recording it.

    Raises NotFound, AlreadySettled, and Forbidden for whoever sent it, if it may report a failure.
    """
    async with writing(ledger.pool, caller.organisation) as conn:
        row = await _open_message(conn, caller, rejected_id)
    if row.adverse and row.key == caller.key:
        detail = "Whoever sent a report of a failure does not resolve it: another key with authority at the site does."
        raise Forbidden(detail)
    await _settled(ledger, caller, row, state="dismissed", reason=reason)
    return {"rejected": rejected_id, "state": "dismissed", "reason": reason}


async def _open_message(conn: AsyncConnection, caller: Caller, rejected_id: UUID) -> RejectedMessage:
    row = await rejected_message(conn, caller.organisation, rejected_id)
    if row is None or not await has_authority(conn, caller, row):
        what = "rejected message"
        raise NotFound(what)
    if row.state != "open":
        raise AlreadySettled(rejected_id)
    return row


async def _settled(
    ledger: Ledger,
    caller: Caller,
    row: RejectedMessage,
    *,
    state: Any,  # noqa: ANN401 -- the store's own words
    reason: str | None = None,
    accepted_seq: int | None = None,
) -> None:
    """Settle a message, and fold the unit again that it may have reported a failure of."""
    organisation = caller.organisation

    async def work(conn: AsyncConnection) -> bool:
        await lock_kins(conn, organisation, [row.tag] if row.adverse and row.tag is not None else [])
        done = await settle(
            conn, organisation, row.id, state=state, key=caller.key, reason=reason, accepted_seq=accepted_seq
        )
        if row.adverse and row.tag is not None:
            where = await position(conn, organisation)
            await ledger.memory.meet(conn, organisation, {caller.key})
            known = await ledger.memory.known(conn, organisation, where.context_seq)
            desk = Desk(conn, organisation, where, known)
            await desk.open_tags([row.tag])
            await report_anew(desk, {row.tag})
        return done

    async with ledger.turns.of(organisation):
        for _ in range(TRIES):
            done = await _transaction(ledger, organisation, work)
            if done is not None:
                break
        else:
            raise Unavailable
    if not done:
        raise AlreadySettled(row.id)


FIELDS = {
    "site": "site",
    "model": "model",
    "item": "item",
    "task": "task",
    "policy": "policy",
    "instrument": "instrument",
}


async def put_reference(
    ledger: Ledger, caller: Caller, kind: str, ref: str, raw: bytes, expected_version: int | None
) -> Receipt:
    """Record a version of reference data; the event's id, kind and moment are filled in where they are left out.

    `expected_version` is the seq of the version it starts from, 0 for none yet, None if nothing was said. Raises
    PreconditionRequired and VersionMismatch.
    """
    now = ledger.clock()
    message = completed(raw, kind, ref, now)
    sender = Sender(key=caller.key, role=caller.role, sites=caller.sites, received_at=now, sent_at=None)
    starts_from = UNSAID if expected_version is None else expected_version
    one = read(Incoming(raw=message, sender=sender, starts_from=starts_from))
    return (await _recorded(ledger, caller.organisation, [one]))[0]


def completed(raw: bytes, kind: str, ref: str, now: datetime) -> bytes:
    """Give the posted message that a definition stands for. Raises NotJson or Malformed."""
    try:
        said = msgspec.json.decode(raw, type=dict[str, msgspec.Raw])
    except msgspec.ValidationError as error:
        raise Malformed("", "Send an object: the fields of the definition.") from error
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        detail = f"The body is no JSON text in UTF-8: {error}"
        raise NotJson(detail) from error
    for field, value in (("kind", DEFINED_BY[kind]), (kind, ref)):
        if bytes(said.setdefault(field, _raw(value))) != bytes(_raw(value)):
            raise Malformed(f"/{field}", f"The address says {value!r}: leave the field out or say the same.")
    said.setdefault("id", _raw(str(uuid4())))
    if "occurred_on" not in said:
        said.setdefault("occurred_at", _raw(now))
    return msgspec.json.encode(said)


def _raw(value: str | datetime) -> msgspec.Raw:
    return msgspec.Raw(msgspec.json.encode(value))
