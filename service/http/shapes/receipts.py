"""What a sender is told of what it posted."""

from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

import msgspec

from service.domain.standing import Standing
from service.domain.unit import Phase
from service.domain.words import MANY, Instant, Tag
from service.http.limits import MAX_EVENTS
from service.http.shapes.problem import Problem
from service.http.shapes.words import MOST, ConflictCode, Count, Reasons, Seq, Status

Outcome = Literal["recorded", "repeated"]


class FoundConflict(msgspec.Struct, frozen=True, kw_only=True):
    """One contradiction between an event and the history; it refuses nothing."""

    code: ConflictCode
    reasons: Reasons | msgspec.UnsetType = msgspec.UNSET
    count: Count | msgspec.UnsetType = msgspec.UNSET
    assets: Annotated[tuple[Tag, ...], msgspec.Meta(max_length=MANY)] | msgspec.UnsetType = msgspec.UNSET


Conflicts = Annotated[tuple[FoundConflict, ...], msgspec.Meta(max_length=100)]


class AssetNow(msgspec.Struct, frozen=True, kw_only=True):
    """The unit as it is now, after what was recorded; at no site of the key, only whether it may be used."""

    tag: Tag
    phase: Phase | None
    standing: Standing | None
    do_not_use: bool
    reasons: Reasons


class EventReceipt(msgspec.Struct, frozen=True, kw_only=True):
    """What was recorded: its place in the log, what it contradicts, and the unit now."""

    example: ClassVar[dict[str, Any]] = {
        "id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
        "seq": 48211,
        "recorded_at": "2026-03-02T05:51:42.000211Z",
        "outcome": "recorded",
        "conflicts": [],
        "asset": {
            "tag": "FX-0142",
            "phase": "issued",
            "standing": "in-date",
            "do_not_use": False,
            "reasons": [],
        },
    }

    id: UUID
    seq: Seq
    recorded_at: Instant
    outcome: Outcome
    conflicts: Conflicts
    asset: AssetNow | None


class BatchResult(msgspec.Struct, frozen=True, kw_only=True):
    """What became of one event of a batch: a receipt, or a problem."""

    id: UUID | None
    status: Status
    seq: Seq | msgspec.UnsetType = msgspec.UNSET
    recorded_at: Instant | msgspec.UnsetType = msgspec.UNSET
    outcome: Outcome | msgspec.UnsetType = msgspec.UNSET
    conflicts: Conflicts | msgspec.UnsetType = msgspec.UNSET
    asset: AssetNow | msgspec.UnsetType | None = msgspec.UNSET
    problem: Problem | msgspec.UnsetType = msgspec.UNSET
    rejected: UUID | msgspec.UnsetType = msgspec.UNSET


class LineResult(BatchResult, frozen=True, kw_only=True):
    """What became of one line of a stream: a receipt, or a problem."""

    line: Annotated[int, msgspec.Meta(ge=1, le=MOST)]


class StreamEnd(msgspec.Struct, frozen=True, kw_only=True):
    """The last line that answers a stream: how far it was taken in, and what became of it."""

    example: ClassVar[dict[str, Any]] = {
        "lines": 1204,
        "recorded": 1190,
        "repeated": 11,
        "rejected": 3,
        "dropped": 0,
        "position": 48211,
    }

    lines: Count
    recorded: Count
    repeated: Count
    rejected: Count
    dropped: Count
    position: Seq | None
    problem: Problem | msgspec.UnsetType = msgspec.UNSET


class BatchReceipt(msgspec.Struct, frozen=True, kw_only=True):
    """A result for each event, in the order they came."""

    example: ClassVar[dict[str, Any]] = {
        "results": [
            {**EventReceipt.example, "status": 201},
            {
                "id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c02",
                "status": 422,
                "problem": {
                    "type": "/problems/unknown-reference",
                    "title": "The message names something that is not defined",
                    "status": 422,
                    "detail": "Nothing is defined under 'asset:FX-0999'. The message waits and is accepted when that "
                    "arrives.",
                    "errors": [
                        {
                            "detail": "Nothing is defined under 'asset:FX-0999'. The message waits and is accepted "
                            "when that arrives.",
                            "pointer": "#/asset",
                        }
                    ],
                    "reference": "asset:FX-0999",
                    "waits": True,
                },
                "rejected": "0198c1f2-9000-7000-8000-0000000000e1",
            },
        ]
    }

    results: Annotated[tuple[BatchResult, ...], msgspec.Meta(max_length=MAX_EVENTS)]
