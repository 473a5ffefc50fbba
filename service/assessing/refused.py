"""Rejected messages as they are shown."""

from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.domain.caller import Caller
from service.domain.errors import NotFound
from service.domain.problem import Problem
from service.page import Page, moment_and_name
from service.problems import described
from service.recording.authority import may_read
from service.store.rejected_message import rejected_message
from service.store.rejected_messages import RejectedMessage, State, rejected_messages


def line(row: RejectedMessage) -> dict[str, object]:
    """Give the members that a list shows."""
    return {
        "rejected": row.id,
        "state": row.state,
        "received_at": row.received_at,
        "last_received_at": row.last_received_at,
        "count": row.count,
        "kept": row.kept,
        "event": row.event,
        "kind": row.kind,
        "asset": row.tag,
        "site": row.site,
        "adverse": row.adverse,
        "waiting_for": row.waiting_for,
        "problem": described(msgspec.json.decode(row.problem, type=Problem)),
        "settled_at": row.settled_at,
        "reason": row.reason,
        "accepted_seq": row.accepted_seq,
    }


async def page(question: Question, caller: Caller, after: str | None, limit: int, state: State | None) -> Page:
    """List rejected messages, newest first. Raises BadCursor."""
    rows = await rejected_messages(
        question.conn,
        question.organisation,
        state=state,
        sites=None if caller.sites is None else sorted(caller.sites),
        before=None if after is None else moment_and_name(after),
        limit=limit + 1,
    )
    more = len(rows) > limit
    last = rows[limit - 1] if more else None
    return Page(
        items=[line(row) for row in rows[:limit]],
        next=None if last is None else f"{last.recorded_at.isoformat()} {last.id}",
    )


async def one(question: Question, caller: Caller, rejected: UUID) -> dict[str, object]:
    """Show one rejected message with its body. Raises NotFound."""
    row = await rejected_message(question.conn, question.organisation, rejected)
    if row is None or not await may_read(question.conn, caller, row):
        what = "rejected message"
        raise NotFound(what)
    body = None if row.body is None else row.body.decode("utf-8", errors="replace")
    return {**line(row), "body": body, "fields": row.fields}
