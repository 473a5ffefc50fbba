"""Parts of a unit: what sits where."""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta

from service.domain.value import Value
from service.domain.words import MANY, Expiry, Label, Ref

Condition = Literal["new", "refitted"]
ReplacementReason = Literal[
    "loading", "service-limit", "expiry", "schedule", "damage", "contamination", "recall", "other"
]


class Part(Value, frozen=True, kw_only=True):
    """A part that is fitted."""

    item: Ref
    lot: Label | None = None
    serial: Label | None = None
    expires: Expiry | None = None
    opened_on: date | None = None
    condition: Condition


class RemovedPart(Value, frozen=True, kw_only=True):
    """A part that was taken out, as far as known."""

    item: Ref | None = None
    lot: Label | None = None
    serial: Label | None = None


class PlacedPart(Value, frozen=True, kw_only=True):
    """A part and the position it sits in."""

    position: Ref
    part: Part


PlacedParts = Annotated[tuple[PlacedPart, ...], Meta(max_length=MANY)]
