"""Standing: may a unit be used. The words, their order, and the spans a rule answers with.

    out-of-scope < in-date < due-soon < overdue < do-not-use

What may live here: the scale, spans of time, and the closed list of reasons. No rule.
"""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Final, Literal
from uuid import UUID

import msgspec

Standing = Literal["out-of-scope", "in-date", "due-soon", "overdue", "do-not-use"]

SCALE: tuple[Standing, ...] = ("out-of-scope", "in-date", "due-soon", "overdue", "do-not-use")
WORSE = {standing: place for place, standing in enumerate(SCALE)}
BREACHES = frozenset({"overdue", "do-not-use"})

BEGINNING = datetime(1, 1, 2, tzinfo=UTC)
FOREVER = datetime(9999, 12, 30, tzinfo=UTC)

REASONS: Final[dict[str, str]] = {
    "thorough-examination": "the periodic thorough examination is past its due date",
    "no-evidence": "no record shows that the duty was ever met",
    "used-without-check": "the unit was used outside the cover of a complete passing check",
    "function-check-owed": "a function check is owed after an emergency, training or fit-test use",
    "cleaning-owed": "cleaning is owed after use, or before another wearer",
    "loading": "the filter loading is at the change mark",
    "service-limit": "a part has reached its service limit, or its time since opening",
    "expired": "a part is past its shelf life",
    "no-schedule": "an opened gas filter has no change schedule",
    "charge-low": "the charge is below the model's low mark",
    "charge-unknown": "the charge was not read since the battery was swapped",
    "capacity-low": "the battery's measured capacity is under its end of life",
    "unlisted-part": "a part, or the combination of parts, is not listed for the model",
    "missing-part": "a required position is empty",
    "withdrawal": "the unit is withdrawn from use",
    "recheck": "a check failed; a complete passing check is owed",
    "unresolved-report": "a report of a failure could not be accepted and is not resolved",
    "recall": "the unit is under a recall",
    "missing": "nobody knows where the unit is",
    "at-service": "the unit is away at service",
    "retired": "the unit is retired for good",
}
"""Why a unit may not be used: the closed list of words that answers give, and what each says."""


class Source(msgspec.Struct, gc=False, frozen=True):
    """The clause a verdict rests on, its edition, and how it was read (F, F2, M-h, ...; see the reference tables)."""

    clause: str
    edition: str
    status: str


class Span(msgspec.Struct, gc=False, frozen=True):
    """What one rule says from `since` up to, not including, `until`.

    `because` names the events it rests on; `source` the clause.
    """

    since: datetime
    until: datetime
    standing: Standing
    reasons: tuple[str, ...] = ()
    because: tuple[UUID, ...] = ()
    source: Source | None = None


def worst(standings: Iterable[Standing]) -> Standing:
    """Give the worst of several standings; none at all is out of scope."""
    return max(standings, key=WORSE.__getitem__, default="out-of-scope")


Mark = tuple[datetime, Standing, tuple[str, ...], tuple[UUID, ...]]
"""From this moment on: a standing, its reasons, and the events it rests on."""


def steps(since: datetime, until: datetime, marks: Iterable[Mark], source: Source | None = None) -> tuple[Span, ...]:
    """Cut [since, until) at the marks: from each on its standing holds, until the next one.

    Marks come in order of time; of those at or before `since` the last holds from `since`.
    """
    spans: list[Span] = []
    for at, standing, reasons, because in marks:
        start = max(at, since)
        if start >= until:
            break
        if spans:
            last = spans.pop()
            if last.since < start:
                spans.append(msgspec.structs.replace(last, until=start))
        spans.append(Span(start, until, standing, reasons, because, source))
    return tuple(spans)


def always(since: datetime, until: datetime, standing: Standing, source: Source | None = None) -> tuple[Span, ...]:
    """Say one thing, without a reason, for the whole of [since, until)."""
    return (Span(since, until, standing, source=source),)
