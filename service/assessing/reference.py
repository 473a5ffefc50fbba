"""Reference data as it is in force now, each with its version: the seq of the event that says it."""

from service.assessing.log import shown
from service.assessing.moment import Question
from service.domain.errors import NotFound
from service.domain.recorded import Recorded
from service.domain.voiding import voidings
from service.page import Page
from service.recording.references import DEFINED_BY


def newest(question: Question, kind: str) -> dict[str, Recorded]:
    """Give the newest event by reference, of those not taken back."""
    taken_back = voidings(question.known.rows)
    rows = [row for row in question.known.rows if row.event.kind == DEFINED_BY[kind] and row.event.id not in taken_back]
    return {str(getattr(row.event, kind)): row for row in rows if row.seq <= question.judged_to}


async def one(question: Question, kind: str, ref: str) -> tuple[dict[str, object], int]:
    """Give a definition and its version. Raises NotFound."""
    row = newest(question, kind).get(ref)
    if row is None:
        raise NotFound(kind)
    return (await shown(question.conn, question.organisation, [row]))[0], row.seq


async def page(question: Question, kind: str, after: str | None, limit: int) -> Page:
    """List the definitions of a sort by reference."""
    rows = newest(question, kind)
    refs = sorted(ref for ref in rows if after is None or ref > after)
    told = await shown(question.conn, question.organisation, [rows[ref] for ref in refs[:limit]])
    return Page(items=told, next=refs[limit - 1] if len(refs) > limit else None)
