"""Events as they are read back: as they were posted, with what the service added."""

from typing import Annotated, Any, NamedTuple, TypeAlias
from uuid import UUID

import msgspec
from msgspec import UNSET, Meta, UnsetType

from service.domain.event import Event
from service.domain.suspicion import DOUBTS
from service.domain.words import Instant
from service.http.shapes.moment import AtMoments, Paged
from service.http.shapes.receipts import Conflicts
from service.http.shapes.words import HYPHENATED, Next, Page, Seq, Seq0

TimeDoubt = Annotated[str, Meta(max_length=40, pattern=HYPHENATED, examples=list(DOUBTS))]
TimeDoubts = Annotated[tuple[TimeDoubt, ...], Meta(max_length=len(DOUBTS))]


class Added(msgspec.Struct, frozen=True, kw_only=True):
    """What the service adds to an event; the last three where one event or a unit's history is asked for."""

    seq: Seq
    recorded_at: Instant
    received_at: Instant
    sent_at: Instant | None
    conflicts: Conflicts | UnsetType = UNSET
    voided_by: UUID | UnsetType | None = UNSET
    time_doubts: TimeDoubts | UnsetType = UNSET


class RecordedEvent(msgspec.Struct, frozen=True, kw_only=True):
    """Stands for the schema of an event of any kind with what was added."""


class RecordedAs(NamedTuple):
    """The shape of one kind of event with what was added."""

    kind: type[Event]


class Definitions(NamedTuple):
    """The shape of a list of definitions of one sort, under its word."""

    word: str
    kind: type[Event]


Shape: TypeAlias = type[msgspec.Struct] | RecordedAs | Definitions
"""The shape of an answer."""


class Feed(Paged, frozen=True, kw_only=True):
    """Events in the order they were recorded; `next` is always given."""

    judged_to: Seq0
    more: bool
    events: Annotated[tuple[RecordedEvent, ...], Page]


class History(AtMoments, frozen=True, kw_only=True):
    """The events of a unit in the order they happened."""

    next: Next | None
    events: Annotated[tuple[RecordedEvent, ...], Page]


ADDED: dict[str, Any] = {
    "seq": 48211,
    "recorded_at": "2026-03-02T05:51:42.000211Z",
    "received_at": "2026-03-02T05:51:42Z",
    "sent_at": "2026-03-02T05:51:41Z",
}
"""What the examples of events read back have beside those of events posted."""
