"""A recall campaign ends."""

from typing import Annotated, Any, ClassVar

from msgspec import Meta

from service.domain.event import RecallEvent
from service.domain.sample import sample
from service.domain.value import Value
from service.domain.words import MANY, Reason, Tag


class Outstanding(Value, frozen=True, kw_only=True):
    """A unit that was not dealt with, and why."""

    asset: Tag
    reason: Reason


class RecallClosed(RecallEvent, frozen=True, kw_only=True):
    """The campaign is over; its effect on units not dealt with is not (R34)."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "outstanding[].reason")
    example: ClassVar[dict[str, Any]] = sample(
        "recall-closed",
        {"recall": "rc-2026-01", "outstanding": [{"asset": "FX-0188", "reason": "missing since January"}]},
    )

    outstanding: Annotated[tuple[Outstanding, ...], Meta(max_length=MANY)] = ()
