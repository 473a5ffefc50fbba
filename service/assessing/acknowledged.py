"""Which exceptions somebody with authority has looked at.

An acknowledgement counts where its key reaches the row's site (R37), unless it was taken back.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.assessing.taken_back import taken_back
from service.domain.facts import instant
from service.domain.kinds.exception_acknowledged import ExceptionAcknowledged
from service.domain.recorded import Recorded
from service.store.acknowledgements import acknowledgements
from service.store.texts_of_events import texts_of_events


class Acknowledgement(msgspec.Struct, frozen=True):
    """Who looked at a row, and when; `sites` are those the key reaches, None all."""

    at: datetime
    by: str
    seq: int
    event: UUID
    sites: frozenset[str] | None


class Acknowledged:
    """Acknowledgements by report and row, the earliest first."""

    def __init__(self, found: Iterable[tuple[str, str, Acknowledgement]]) -> None:
        self._of: dict[tuple[str, str], list[Acknowledgement]] = {}
        for report, row, one in sorted(found, key=lambda told: (told[2].at, told[2].event)):
            self._of.setdefault((report, row), []).append(one)

    def of(self, report: str, row: UUID, site: str | None) -> Acknowledgement | None:
        """Give the first acknowledgement of a row by a key that reaches its site."""
        told = self._of.get((report, str(row)), ())
        return next((one for one in told if one.sites is None or site in one.sites), None)

    def everywhere(self, report: str | None) -> list[str]:
        """Name the rows acknowledged by a key of every site: of a report, or (None) of all with their report."""
        return sorted(name for name, one in self._named(report) if one.sites is None)

    def there(self, report: str | None) -> list[str]:
        """Name the other rows acknowledged, each with every site that the key reaches."""
        return sorted(f"{name} {site}" for name, one in self._named(report) for site in one.sites or ())

    def _named(self, report: str | None) -> Iterator[tuple[str, Acknowledgement]]:
        for (name, row), told in self._of.items():
            if report in {None, name}:
                for one in told:
                    yield (f"{name}/{row}" if report is None else row), one


async def acknowledged(question: Question, report: str | None) -> Acknowledged:
    """Read the acknowledgements of a report, or of all, that hold at the moment as known."""
    conn, organisation, until = question.conn, question.organisation, question.judged_to
    rows = await acknowledgements(conn, organisation, report=report, until_seq=until)
    gone = await taken_back(question, rows)
    return Acknowledged(_told(question, (row for row in rows if row.event.id not in gone)))


def _told(question: Question, rows: Iterable[Recorded]) -> Iterator[tuple[str, str, Acknowledgement]]:
    for row in rows:
        event, holder, at = row.event, question.world.key(row.key), instant(row.event, None, question.world)
        if isinstance(event, ExceptionAcknowledged) and holder is not None and at <= question.as_at:
            yield event.report, event.row, Acknowledgement(at, event.by, row.seq, event.id, holder.sites)


async def shown(question: Question, found: Iterable[Acknowledgement]) -> dict[UUID, dict[str, object]]:
    """Give acknowledgements as rows show them, by event; a reason that was erased is none."""
    every = list(found)
    texts = await texts_of_events(question.conn, question.organisation, [one.event for one in every])
    reasons = {event: text.text for event, told in texts.items() for text in told if text.path == "reason"}
    return {one.event: {"by": one.by, "at": one.at, "reason": reasons.get(one.event), "seq": one.seq} for one in every}
