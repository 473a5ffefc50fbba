"""Recalled: the kins that a recall may reach, found by the traces of their events and judged again when it opens."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import aclosing
from datetime import datetime
from typing import NamedTuple, Protocol
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.facts import instant
from service.domain.kinds.recall_opened import Criterion, RecallOpened
from service.domain.recall.listing import APART
from service.domain.recall.matching import names_days, speaks_of_parts
from service.domain.recall.traces import Listed, bare, is_trace, listed, matched, stretches
from service.domain.rulebook import Rulebook
from service.recording.desk import Desk
from service.store.errors import StaleContext
from service.store.kins_depending_on import kins_depending_on
from service.store.kins_filed_under import kins_filed_under
from service.store.kins_of_tags import kins_of_tags
from service.store.kins_touched_after import kins_touched_after
from service.store.refs_traced import refs_traced
from service.store.subjects_apart import subjects_apart
from service.store.subjects_between import subjects_between
from service.store.subjects_since import subjects_since


class Recalling(Protocol):
    """What says of what it speaks: an event that opens a recall, or an opening."""

    @property
    def criteria(self) -> tuple[Criterion, ...]:
        """Give the criteria, of which any will do."""
        ...


async def kins_recalled(
    conn: AsyncConnection, organisation: UUID, recalls: Iterable[Recalling], rulebook: Rulebook
) -> set[str]:
    """Name the kins that recalls may reach, by whatever was known."""
    criteria = [criterion for recall in recalls for criterion in recall.criteria]
    models = listed(rulebook)
    found = await kins_bare(conn, organisation, criteria, models)
    if any(names_days(one) for one in criteria):
        found |= {*await kins_depending_on(conn, organisation, [APART])}
    open_parts = any(speaks_of_parts(one) and one.item is None for one in criteria)
    open_units = any(not speaks_of_parts(one) and one.model is None for one in criteria)
    items = await refs_traced(conn, organisation, "part") if open_parts else ()
    known = await refs_traced(conn, organisation, "unit") if open_units else ()
    where = stretches(criteria, known, items)
    async with aclosing(subjects_between(conn, organisation, where)) as pages:
        async for page in pages:
            meant = [trace for trace in page if matched(criteria, trace, models)]
            found.update(await kins_filed_under(conn, organisation, meant) if meant else ())
    return found


async def kins_recalled_since(
    conn: AsyncConnection, organisation: UUID, recalls: Iterable[Recalling], rulebook: Rulebook, after_seq: int
) -> set[str]:
    """Name the kins that recalls may reach by events past a number: few, however much the recalls speak of."""
    criteria = [criterion for recall in recalls for criterion in recall.criteria]
    models = listed(rulebook)
    told = filter(is_trace, await subjects_since(conn, organisation, after_seq))
    meant = [trace for trace in told if matched(criteria, trace, models)]
    found = set(await kins_filed_under(conn, organisation, meant, after_seq=after_seq) if meant else ())
    return found | {*(await kins_depending_on(conn, organisation, [APART]) if _asks_apart(criteria, models) else ())}


async def kins_bare(
    conn: AsyncConnection, organisation: UUID, criteria: Sequence[Criterion], models: Listed
) -> set[str]:
    """Name the kins of units that criteria may speak of because nothing was said of a position as they came.

    Of units that several registrations, or earlier facts, tell of no trace says that alone: all of them are named.
    """
    listing = sorted(bare(criteria, models))
    meant: list[str] = []
    for model in listing:
        told = await subjects_apart(conn, organisation, f"bare:{model}:")
        meant += [trace for trace in told if matched(criteria, trace, models)]
    found = await kins_filed_under(conn, organisation, meant) if meant else ()
    return {*found, *(await kins_depending_on(conn, organisation, [APART]) if listing else ())}


def _asks_apart(criteria: Sequence[Criterion], models: Listed) -> bool:
    """Say whether criteria may reach a unit of which its registrations leave no trace that says so."""
    return any(names_days(one) for one in criteria) or bool(bare(criteria, models))


class Reach(NamedTuple):
    """A recall that is opened here, and the moment from which it speaks of units; None where a voiding is of it."""

    recall: RecallOpened
    begins: datetime | None


def reaches(desk: Desk) -> Iterator[Reach]:
    """Give the recalls and rehearsals that the accepted events open, or take back or restore by a voiding.

    A rehearsal asks nothing of a unit, but what is done about it there answers it.
    """
    for accepted in desk.accepted:
        row, recall = accepted.recorded, accepted.target or accepted.recorded.event
        if isinstance(recall, RecallOpened):
            begins = min(instant(row.event, None, desk.world_to_be()), row.received_at)
            yield Reach(recall, begins if accepted.target is None else None)


async def reach_recalled(desk: Desk) -> None:
    """Have every kin judged again that the recalls of this call may reach, of rehearsals where something followed."""
    for recall, begins in reaches(desk):
        kins = await kins_recalled(desk.conn, desk.organisation, [recall], desk.world_to_be().rulebook)
        for draft in await desk.open_kins(kins):
            draft.tell_again(begins) if recall.rehearsal else draft.judge_again(begins)


async def demand_reached(desk: Desk) -> None:
    """Raise StaleContext where others recorded meanwhile what the recalls of this call may reach.

    What was appended holds the organisation's lock: nothing more comes. For a rehearsal nobody is judged again of whom
    nothing was told since.
    """
    conn, organisation, since = desk.conn, desk.organisation, desk.position.head_seq
    recalls = [recall for recall, _ in reaches(desk)]
    known = {draft.name for draft in desk.touched()} if recalls else set[str]()
    for rehearsal in {recall.rehearsal for recall in recalls}:
        some = [recall for recall in recalls if recall.rehearsal == rehearsal]
        kins = await kins_recalled_since(conn, organisation, some, desk.world_to_be().rulebook, since)
        if rehearsal:
            kins |= {*(await kins_of_tags(conn, organisation, sorted(desk.drafts))).values()}
            kins &= {kin.kin for kin in await kins_touched_after(conn, organisation, since)}
        if not kins <= known:
            raise StaleContext("dependents")
