"""Loading: kins as they are stored, and the rows and reports they are folded from."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.facts import instant
from service.domain.kin import Report
from service.domain.kinds.voided import Voided
from service.domain.recorded import Recorded
from service.domain.world import World
from service.recording.draft import Draft
from service.recording.splicing import AHEAD
from service.recording.state import STATE, KinState
from service.store.device_contradictions import device_contradictions
from service.store.events_of_subjects import events_of_subjects
from service.store.failure_reports import failure_reports
from service.store.fold_marks import fold_marks
from service.store.load_kins import load_kins
from service.store.units_of_kins import UnitOfKin, units_of_kins

EVER = datetime(9999, 12, 31, tzinfo=UTC)
ALL = 2**62
FILED_EARLIER = timedelta(days=3)
"""An event is filed no more than this before the instant at which it counts: a date alone, at its start in any zone."""


async def load_drafts(
    conn: AsyncConnection, organisation: UUID, *, tags: Sequence[str] = (), kins: Iterable[str] = ()
) -> list[Draft]:
    """Give a draft for every kin that exists of the tags and names."""
    return [Draft([kin]) for kin in (await load_kins(conn, organisation, kins, tags=tags)).values()]


async def unit_named(conn: AsyncConnection, organisation: UUID, tag: str) -> UnitOfKin | None:
    """Give the unit that a tag means: the one that has it, else the last that had it; None for a tag not known."""
    for draft in await load_drafts(conn, organisation, tags=[tag]):
        unit = draft.stored(tag)
        for row in await units_of_kins(conn, organisation, [draft.name]):
            if unit is not None and row.unit == unit.unit.unit:
                return row
    return None


async def load_rows(
    conn: AsyncConnection,
    organisation: UUID,
    draft: Draft,
    world: World,
    *,
    until_seq: int = ALL,
    known_at: datetime = EVER,
) -> None:
    """Read the events and the reports a draft is folded from, as known then, unless they are read already."""
    if draft.old is not None:
        return
    subjects = [f"asset:{tag}" for tag in draft.tags]
    rows = await events_of_subjects(conn, organisation, subjects, until_seq=until_seq)
    draft.old = [await flagged(conn, organisation, row, world, until_seq) for row in rows]
    draft.reports = await load_reports(conn, organisation, draft.tags, known_at)


class Marks(msgspec.Struct, frozen=True):
    """Where a kin may be folded from, and marks that lie behind all that is new, by the last instant before each."""

    begin: KinState
    later: dict[datetime, bytes]


async def load_marks(conn: AsyncConnection, organisation: UUID, draft: Draft, world: World) -> Marks | None:
    """Give the newest mark before all that is new of a draft, and the next behind it; None where there is none.

    There is none either where a report decides what the events mean.
    """
    before, state = draft.late_from(world), draft.state()
    if before is None or state is None:
        return None
    late_to = draft.late_to(world) if draft.may_splice(world) else None
    found = await fold_marks(
        conn, organisation, draft.name, before=before, after=late_to or before, most=0 if late_to is None else AHEAD[-1]
    )
    begin = next((at for at in found if at < before), None)
    if begin is None or await load_reports(conn, organisation, draft.tags):
        return None
    mark = msgspec.structs.replace(STATE.decode(found.pop(begin)), placing=state.placing)
    return Marks(mark, found)


async def load_from_mark(
    conn: AsyncConnection, organisation: UUID, draft: Draft, mark: KinState, until: datetime | None, world: World
) -> bool:
    """Read the events of a draft that count after a mark, and no later than `until` if that is given.

    Reads nothing, and says False, where more than those events decides what they mean: a voiding, a date whose zone is
    the unit's.
    """
    at, tags = mark.left[0].at, draft.tags
    near = await events_of_subjects(
        conn,
        organisation,
        [f"asset:{tag}" for tag in tags],
        since=at - FILED_EARLIER,
        until=until,
        whole=[f"voiding:{tag}" for tag in tags],
    )
    if any(row.event.occurred_at is None and row.event.site is None for row in near):
        return False
    moments = [(row, instant(row.event, None, world)) for row in near]
    follow = [
        row
        for row, moment in moments
        if moment > at and (until is None or moment <= until) and not isinstance(row.event, Voided)
    ]
    known = {row.event.id for row in follow}
    for row, moment in moments:
        if isinstance(row.event, Voided) and (row.event.event in known or moment > at):
            return False
    draft.old = [await flagged(conn, organisation, row, world) for row in follow]
    return True


async def load_reports(
    conn: AsyncConnection, organisation: UUID, tags: Iterable[str], known_at: datetime = EVER
) -> list[Report]:
    """Give the reports of failures about tags, as known at a moment."""
    return [
        Report(report.id, report.tag, report.received_at, report.settled_at)
        for report in await failure_reports(conn, organisation, known_at=known_at, tags=sorted(tags))
    ]


async def flagged(
    conn: AsyncConnection, organisation: UUID, row: Recorded, world: World, until_seq: int = ALL
) -> Recorded:
    """Mark bad news that its device's own counter contradicts (R8)."""
    event = row.event
    if event.device is None or event.device_seq is None or event.occurred_at is None or not event.adverse():
        return row
    contradicted = await device_contradictions(
        conn,
        organisation,
        device=event.device,
        device_seq=event.device_seq,
        instant=event.occurred_at,
        tolerance=world.tolerance(event.site or "", row.received_at),
        known_seq=until_seq,
    )
    return msgspec.structs.replace(row, suspect_order=contradicted)
