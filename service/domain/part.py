"""Parts of a unit: what sits where."""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta
from msgspec.structs import replace

from service.domain.label import same
from service.domain.value import Value
from service.domain.words import MANY, Expiry, Label, Ref

Condition = Literal["new", "refitted"]
ReplacementReason = Literal[
    "loading", "service-limit", "expiry", "schedule", "damage", "contamination", "recall", "other"
]


class Part(Value, frozen=True, kw_only=True, cache_hash=True):
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


def names(part: Part) -> tuple[str | None, ...]:
    """Give what tells a part from others."""
    return (part.item, part.lot, part.serial, part.expires)


def turned_out(known: Part | None, out: RemovedPart) -> Part | None:
    """Give what a part was, by what was said as it was taken out; None where that does not tell its item.

    What was known of it and is not contradicted still holds. A label that is written otherwise contradicts nothing.
    """
    item = out.item or (None if known is None else known.item)
    if item is None:
        return None
    if known is None:
        return Part(item=item, lot=out.lot, serial=out.serial, condition="refitted")
    if item != known.item or _differs(out.lot, known.lot) or _differs(out.serial, known.serial):
        return Part(item=item, lot=out.lot, serial=out.serial, condition=known.condition)
    return replace(known, lot=known.lot or out.lot, serial=known.serial or out.serial)


def _differs(said: str | None, known: str | None) -> bool:
    return said is not None and known is not None and not same(said, known)


class PlacedPart(Value, frozen=True, kw_only=True):
    """A part and the position it sits in."""

    position: Ref
    part: Part


PlacedParts = Annotated[tuple[PlacedPart, ...], Meta(max_length=MANY)]
