"""Recalled: the kins that a recall may reach, found by the traces of their events and judged again when it opens."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple, Protocol
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.facts import instant
from service.domain.kinds.recall_opened import Criterion, RecallOpened
from service.domain.recall.traces import beginnings, listed, matched
from service.domain.rulebook import Rulebook
from service.recording.desk import Desk
from service.store.errors import StaleContext
from service.store.kins_filed_under import kins_filed_under
from service.store.subjects_beginning import subjects_beginning


class Recalling(Protocol):
    """What says of what it speaks: an event that opens a recall, or an opening."""

    @property
    def criteria(self) -> tuple[Criterion, ...]:
        """Give the criteria, of which any will do."""
        ...


async def kins_recalled(
    conn: AsyncConnection, organisation: UUID, recalls: Iterable[Recalling], rulebook: Rulebook, after_seq: int = 0
) -> set[str]:
    """Name the kins that recalls may reach by their events past a number."""
    criteria = [criterion for recall in recalls for criterion in recall.criteria]
    models = listed(rulebook)
    found: set[str] = set()
    for beginning in beginnings(criteria, models):
        async for page in subjects_beginning(conn, organisation, beginning, after_seq=after_seq):
            meant = [trace for trace in page if matched(criteria, trace, models)]
            found.update(await kins_filed_under(conn, organisation, meant, after_seq=after_seq) if meant else ())
    return found


class Reach(NamedTuple):
    """A recall that is opened here, and the moment from which it asks something; None where a voiding is of it."""

    recall: RecallOpened
    begins: datetime | None


def reaches(desk: Desk) -> Iterator[Reach]:
    """Give the recalls that the accepted events open, or take back or restore by a voiding; rehearsals ask nothing."""
    for accepted in desk.accepted:
        row, recall = accepted.recorded, accepted.target or accepted.recorded.event
        if isinstance(recall, RecallOpened) and not recall.rehearsal:
            begins = min(instant(row.event, None, desk.world_to_be()), row.received_at)
            yield Reach(recall, begins if accepted.target is None else None)


async def reach_recalled(desk: Desk) -> None:
    """Have every kin judged again that the recalls of this call may reach."""
    for recall, begins in reaches(desk):
        kins = await kins_recalled(desk.conn, desk.organisation, [recall], desk.world_to_be().rulebook)
        for draft in await desk.open_kins(kins):
            draft.judge_again(begins)


async def demand_reached(desk: Desk) -> None:
    """Raise StaleContext where others recorded meanwhile what the recalls of this call may reach.

    What was appended holds the organisation's lock: nothing more comes.
    """
    recalls = [recall for recall, _ in reaches(desk)]
    if not recalls:
        return
    since, rulebook = desk.position.head_seq, desk.world_to_be().rulebook
    kins = await kins_recalled(desk.conn, desk.organisation, recalls, rulebook, since)
    if not kins <= {draft.name for draft in desk.touched()}:
        raise StaleContext("dependents")
