"""Reference data as it is in force now, each with its version: the seq of the event that says it."""

from service.assessing.log import shown
from service.assessing.moment import Question
from service.domain.current import Name, current, readable
from service.domain.errors import NotFound
from service.domain.event import ReferenceEvent
from service.domain.recorded import Recorded
from service.page import Page
from service.recording.references import DEFINED_BY


def newest(question: Question, kind: str, sites: frozenset[str] | None) -> dict[Name, Recorded]:
    """Give the newest event by what it defines, of those that a key bound to sites may read."""
    rows = current((row for row in question.known.rows if row.seq <= question.judged_to), DEFINED_BY[kind])
    return {
        name: row for name, row in rows.items() if isinstance(row.event, ReferenceEvent) if readable(row.event, sites)
    }


async def one(question: Question, kind: str, name: Name, sites: frozenset[str] | None) -> tuple[dict[str, object], int]:
    """Give a definition and its version. Raises NotFound."""
    row = newest(question, kind, sites).get(name)
    if row is None:
        raise NotFound(kind)
    return (await shown(question, [row]))[0], row.seq


async def page(question: Question, kind: str, sites: frozenset[str] | None, after: str | None, limit: int) -> Page:
    """List the definitions of a sort by reference, of a policy one for each scope."""
    rows = newest(question, kind, sites)
    names = sorted(name for name in rows if after is None or name > tuple(after.split(" ")))
    told = await shown(question, [rows[name] for name in names[:limit]])
    return Page(items=told, next=" ".join(names[limit - 1]) if len(names) > limit else None)
