"""Resolve a message that was not accepted: try it again, or dismiss it with a reason."""

from typing import Any
from uuid import UUID

from psycopg import AsyncConnection

from service.comparing import compared
from service.domain.caller import Caller
from service.domain.errors import AlreadySettled, Forbidden, NotFound, NotKept
from service.ledger import Ledger
from service.recording.admission import read
from service.recording.attempt import report_anew
from service.recording.authority import has_authority
from service.recording.desk import Desk
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Receipt, Sender
from service.recording.tries import until_fresh
from service.store.lock_kins import lock_kins
from service.store.position import position
from service.store.rejected_message import rejected_message
from service.store.rejected_messages import RejectedMessage
from service.store.scope import writing
from service.store.settle import settle


async def retry(ledger: Ledger, caller: Caller, rejected_id: UUID) -> Receipt:
    """Try a rejected message again as it came, by the caller's authority, as of its first receipt.

    Raises NotFound, AlreadySettled, and NotKept where the message itself is not kept.
    """
    async with writing(ledger.pool, caller.organisation) as conn:
        row = await _open_message(conn, caller, rejected_id)
    if row.body is None:
        raise NotKept(rejected_id, row.kept)
    sender = Sender(
        key=caller.key,
        role=caller.role,
        sites=caller.sites,
        received_at=row.received_at,
        sent_at=row.sent_at,
        imported=row.imported,
    )
    one = read(Incoming(raw=row.body, sender=sender, kept=rejected_id))
    receipt = (await record_all(ledger, caller.organisation, await compared(ledger, caller, [one])))[0]
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
        done = await until_fresh(ledger, organisation, work)
    if not done:
        raise AlreadySettled(row.id)
