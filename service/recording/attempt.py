"""One attempt to record messages: load, decide, append, in one transaction.

What others recorded meanwhile makes the attempt stale, wholly or for some kins; then those messages are decided again.
"""

import asyncio
from collections.abc import Mapping, Sequence
from itertools import islice
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.calendar import TZDATA_VERSION
from service.domain.caller import Role
from service.domain.codec import decode
from service.domain.edition import MEANING
from service.domain.errors import ContradictsHistory, Refused, UnknownReference
from service.domain.recorded import Recorded
from service.known import Memory
from service.recording.accepted import Decision
from service.recording.admission import read
from service.recording.deciding import decide
from service.recording.desk import Desk
from service.recording.device import contradict
from service.recording.draft import Draft
from service.recording.incoming import Incoming, Read, Sender
from service.recording.joining import demand_joined
from service.recording.loading import load_from_mark, load_marks, load_reports, load_rows
from service.recording.recalled import demand_reached, reach_recalled
from service.recording.splicing import AHEAD
from service.recording.whole import fold_whole
from service.store.adverse_out_of_line import adverse_out_of_line
from service.store.append import Outcome, append
from service.store.enter import Entered
from service.store.errors import StaleContext
from service.store.generation import Generation
from service.store.idling import idle_long
from service.store.kins_depending_on import kins_depending_on
from service.store.messages_waiting_for import messages_waiting_for
from service.store.open_rejected import open_rejected
from service.store.position import position
from service.store.rejected_messages import RejectedMessage
from service.store.rewrite import rewrite
from service.store.set_generation import set_generation
from service.store.settle import settle
from service.store.units_of_kins import units_of_kins


class Attempt(msgspec.Struct, frozen=True):
    """What was decided of each message, in their order; `outcomes` by id of what was recorded, or has to be again."""

    desk: Desk
    decisions: tuple[Decision | Refused, ...]
    outcomes: dict[UUID, Outcome]


KINS = "kins"
MANY = 1000
"""Of more kins the database waits for us as long as it takes to fold and to send them: a recall may reach all."""


async def attempt(
    conn: AsyncConnection, organisation: UUID, begun: Entered, memory: Memory, reads: Sequence[Read]
) -> Attempt:
    """Decide the messages and append what is accepted, with the messages that waited for it. Raises StaleContext.

    Without what is turned away all is decided again, since something may have rested on it.
    """
    desk, decisions = await decided(conn, organisation, begun, memory, reads)
    while away := desk.turned_away():
        reads = [without(one, away) for one in reads]
        desk, decisions = await decided(conn, organisation, begun, memory, reads)
    outcomes = await write(desk)
    await settle_accepted(desk, outcomes)
    return Attempt(desk, tuple(decisions), outcomes)


async def decided(
    conn: AsyncConnection, organisation: UUID, begun: Entered, memory: Memory, reads: Sequence[Read]
) -> tuple[Desk, list[Decision | Refused]]:
    """Decide the messages, and fold what they touch; nothing is written."""
    await memory.meet(conn, organisation, {one.incoming.sender.key for one in reads})
    known = await memory.known(conn, organisation, begun.context_seq)
    desk = Desk(conn, organisation, begun, known)
    await desk.look_up(reads)
    decisions = await decide_all(desk, reads)
    if begun.anything_waits:
        await accept_waiting(desk, memory)
    await reach_others(desk)
    await reach_recalled(desk)
    await demand_joined(desk)
    await fold_all(desk)
    return desk, decisions


def without(one: Read, away: Mapping[tuple[UUID, UUID], ContradictsHistory]) -> Read:
    """Refuse a message whose event was turned away, with every copy of it by the same key."""
    if one.event is None or not one.incoming.strict:
        return one
    error = away.get((one.incoming.sender.key, one.event.id))
    return one if error is None else one.refuse(error)


async def decide_all(desk: Desk, reads: Sequence[Read]) -> list[Decision | Refused]:
    """Decide messages in their order, and again those that named what a later one of them brings."""
    decisions = [await decision(desk, one) for one in reads]
    supplied: set[str] = set()
    while new := set(desk.supplied()) - supplied:
        supplied |= new
        for place, found in enumerate(decisions):
            if isinstance(found, UnknownReference) and not new.isdisjoint(found.references):
                decisions[place] = await decision(desk, reads[place])
    return decisions


async def decision(desk: Desk, one: Read) -> Decision | Refused:
    """Decide one message; a refusal is an answer, too."""
    try:
        return await decide(desk, one)
    except Refused as error:
        return error


async def accept_waiting(desk: Desk, memory: Memory) -> None:
    """Decide the messages that wait for what was just accepted, and those that wait for them (decision 6)."""
    asked: set[str] = set()
    while new := [ref for ref in desk.supplied() if ref not in asked]:
        asked |= set(new)
        rows = await messages_waiting_for(desk.conn, desk.organisation, new)
        await memory.meet(desk.conn, desk.organisation, {row.key for row in rows})
        waiting = [_waiting(row) for row in rows]
        await desk.look_up(waiting)
        for one in waiting:
            await decision(desk, one)


def _waiting(row: RejectedMessage) -> Read:
    """Read a kept message as it came first."""
    sender = Sender(
        key=row.key,
        role=_role(row.role),
        sites=None if row.sites is None else frozenset(row.sites),
        received_at=row.received_at,
        sent_at=row.sent_at,
        imported=row.imported,
    )
    return read(Incoming(raw=row.body or b"", sender=sender, kept=row.id))


def _role(role: str) -> Role:
    known: Role = msgspec.convert(role, Role)
    return known


async def reach_others(desk: Desk) -> None:
    """Have every kin folded anew that the accepted events reach without naming it.

    Those are the kins that asked for reference data or a person that changed, and those with bad news of a device whose
    counter now contradicts it.
    """
    if desk.refs:
        for draft in await desk.open_kins(await kins_depending_on(desk.conn, desk.organisation, desk.refs)):
            draft.anew = True
    new = [accepted.recorded for accepted in desk.accepted if _counted(accepted.recorded)]
    for old in await _out_of_line(desk, new):
        tolerance = desk.tolerance(old)
        if any(contradict(old, row, tolerance) for row in new):
            await desk.fold_anew_with(old)


async def _out_of_line(desk: Desk, new: Sequence[Recorded]) -> list[Recorded]:
    """Give the recorded bad news of devices that new events of theirs may contradict."""
    spoken = [
        (event.device, event.device_seq, event.occurred_at)
        for event in (row.event for row in new)
        if event.device is not None and event.device_seq is not None and event.occurred_at is not None
    ]
    return await adverse_out_of_line(desk.conn, desk.organisation, spoken) if spoken else []


def _counted(row: Recorded) -> bool:
    event = row.event
    return event.device is not None and event.device_seq is not None and event.family != "reference"


async def fold_all(desk: Desk) -> None:
    """Give every touched kin its meaning in the world as it will be, each from where it was left if that is enough."""
    counted = [accepted.recorded for accepted in desk.accepted if _counted(accepted.recorded)]
    touched = desk.touched()
    if len(touched) > MANY:
        await idle_long(desk.conn)
    for draft in touched:
        draft.begin()
        draft.new = [await desk.flagged(row, counted) for row in draft.new]
        if not draft.fold_on(desk.world_to_be()) and not await fold_late(desk, draft, counted):
            await load_rows(desk.conn, desk.organisation, draft, desk.world_to_be())
            draft.old = [desk.flag_again(row, counted) for row in draft.old or ()]
            await fold_whole(draft, desk.world_to_be())
        await asyncio.sleep(0)  # a group folds long: whoever else is ready goes on between two kins


async def fold_late(desk: Desk, draft: Draft, counted: Sequence[Recorded]) -> bool:
    """Fold a kin from the newest mark before all that is new; False where there is none that will do.

    It is folded to the next mark that it reaches as it did, or else to its end.
    """
    world, conn, organisation = desk.world_to_be(), desk.conn, desk.organisation
    found = await load_marks(conn, organisation, draft, world)
    if found is None:
        return False
    for ahead in (*(ahead for ahead in AHEAD if ahead <= len(found.later)), None):
        marks = None if ahead is None else dict(islice(found.later.items(), ahead))
        until = None if marks is None else max(marks)
        if not await load_from_mark(conn, organisation, draft, found.begin, until, world):
            return False
        draft.old = [desk.flag_again(row, counted) for row in draft.old or ()]
        if marks is None:
            done = draft.fold_from(found.begin, world)
        else:
            now = await units_of_kins(conn, organisation, [draft.name])
            if not now:  # another process has merged the kin into another since it was read
                raise StaleContext(KINS)
            done = draft.splice(found.begin, marks, now[0].outlook, world)
        if done:
            return True
        draft.old = None
        draft.begin()
    return False


async def write(desk: Desk) -> dict[UUID, Outcome]:
    """Append what was accepted, with the kins it changes."""
    if not desk.accepted:
        return {}
    if desk.position.head_seq == 0:
        first = Generation(generation=1, rules_to=0, code_version=MEANING, tzdata_version=TZDATA_VERSION)
        await set_generation(desk.conn, desk.organisation, first)
    counted = any(_counted(accepted.recorded) for accepted in desk.accepted)
    outcomes = await append(
        desk.conn,
        desk.organisation,
        context_seq=desk.position.context_seq,
        entries=[desk.entry(accepted) for accepted in desk.accepted],
        kins=[draft.write() for draft in desk.touched()],
        refs=sorted(desk.refs),
        known_seq=desk.position.head_seq if counted else None,
        known_at=desk.position.head_recorded_at,
    )
    await demand_reached(desk)
    return {outcome.id: outcome for outcome in outcomes}


async def settle_accepted(desk: Desk, outcomes: dict[UUID, Outcome]) -> None:
    """Settle the messages that were kept and are recorded now, and fold again the units that a report ends for (R45).

    Those are the messages that waited, and those that came again as they were and could be accepted this time.
    """
    recorded = {
        accepted.recorded.event.id: accepted
        for accepted in desk.accepted
        if outcomes[accepted.recorded.event.id].outcome == "recorded"
    }
    refused = [ident for ident in recorded if outcomes[ident].refused]
    ended: set[str] = set()
    for row in await open_rejected(desk.conn, desk.organisation, refused) if refused else []:
        accepted = recorded[row.event or UUID(int=0)]
        if row.id == accepted.incoming.kept or same_message(row.body or b"", accepted.incoming.raw):
            seq = outcomes[accepted.recorded.event.id].seq
            await settle(desk.conn, desk.organisation, row.id, state="accepted", key=None, accepted_seq=seq)
            ended |= {*accepted.tags, *([row.tag] if row.tag else [])}
    await report_anew(desk, ended)


def same_message(one: bytes, other: bytes) -> bool:
    """Say whether two bodies say the same; the sender's clock is of the message and may differ."""
    try:
        told = [msgspec.structs.replace(decode(body), sent_at=None) for body in (one, other)]
    except Refused:
        return one == other
    return told[0] == told[1]


async def report_anew(desk: Desk, tags: set[str], *, context_seq: int | None = None) -> None:
    """Fold the kins of tags again with the reports about them as they are now.

    `context_seq` is the newest context event that the desk knows, None where it appended itself. Raises StaleContext.
    """
    drafts = {id(draft): draft for tag in tags if (draft := desk.drafts.get(tag)) is not None}
    changed: list[Draft] = []
    for draft in drafts.values():
        reports = await load_reports(desk.conn, desk.organisation, draft.tags)
        if reports or draft.reports:
            again = await desk.as_written(draft, reports)
            again.conflicts = draft.conflicts
            desk.drafts |= dict.fromkeys(draft.tags, again)
            changed.append(again)
    if changed:
        where = await position(desk.conn, desk.organisation)
        kins = [draft.write() for draft in changed]
        known = where.context_seq if context_seq is None else context_seq
        written = await rewrite(desk.conn, desk.organisation, context_seq=known, kins=kins)
        if not all(one.written for one in written):
            raise StaleContext(KINS)
