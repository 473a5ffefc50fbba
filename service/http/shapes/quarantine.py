"""Units that were ordered out of use."""

from typing import Annotated, Any, ClassVar

import msgspec
from msgspec import Meta

from service.domain.words import Ref, Tag
from service.http.shapes.words import Count, Many, Seq

Why = Annotated[str, Meta(max_length=40, examples=["retired", "missing", "not-accepted", "tag-of-another"])]


class SkippedUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit that is passed over."""

    asset: Tag
    reason: Why


class Positions(msgspec.Struct, frozen=True, kw_only=True):
    """Where the events of a request stand in the log."""

    first: Seq
    last: Seq


class Stopped(msgspec.Struct, frozen=True, kw_only=True):
    """What became of an order to stop the units of a recall."""

    example: ClassVar[dict[str, Any]] = {
        "recall": "rc-2026-01",
        "quarantined": 212,
        "already": 3,
        "skipped": [{"asset": "FX-0188", "reason": "missing"}],
        "left": 0,
        "asked_less": 0,
        "done": True,
        "positions": {"first": 48212, "last": 48423},
    }

    recall: Ref
    quarantined: Count
    already: Count
    skipped: Annotated[tuple[SkippedUnit, ...], Many]
    left: Count
    asked_less: Count
    done: bool
    positions: Positions | None
