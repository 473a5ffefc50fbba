"""A recall begins."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from msgspec.structs import force_setattr
from typing_extensions import override

from service.domain.event import RecallEvent
from service.domain.label import LabelList
from service.domain.sample import sample
from service.domain.value import FieldError, Value, in_order
from service.domain.words import MANY, Expiry, Label, Labels, Ref, Text, expiry_days

Action = Literal["stop-use", "rectify-by", "inspect", "information"]


class Criterion(Value, frozen=True, kw_only=True):
    """What is affected: all values given must match, one missing on the unit counts as matching (R34).

    With an item, a lot or an expiry it speaks of parts that are fitted, else of units (`recall/matching.py`).
    """

    model: Ref | None = None
    item: Ref | None = None
    lot: Label | None = None
    lots: Labels = ()
    lot_from: Label | None = None
    lot_to: Label | None = None
    serials: Labels = ()
    serial_from: Label | None = None
    serial_to: Label | None = None
    made_from: date | None = None
    made_to: date | None = None
    received_from: date | None = None
    received_to: date | None = None
    expires_from: Expiry | None = None
    expires_to: Expiry | None = None

    @override
    def __post_init__(self) -> None:
        """Check it, and let its lists keep what is worked out for them: every part of a firm is held against them."""
        super().__post_init__()
        for name, labels in (("lots", self.lots), ("serials", self.serials)):
            if labels and not isinstance(labels, LabelList):
                force_setattr(self, name, LabelList(labels))

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a criterion that says nothing, and dates in the wrong order."""
        if not any(getattr(self, name) for name in self.__struct_fields__):
            yield FieldError("", "a criterion needs at least one value")
        yield from in_order(self, "made_from", "made_to")
        yield from in_order(self, "received_from", "received_to")
        if self.expires_from is not None and self.expires_to is not None:
            first, last = expiry_days(self.expires_from)[0], expiry_days(self.expires_to)[1]
            if last < first:
                yield FieldError("expires_to", "must not be before or below expires_from")


class RecallOpened(RecallEvent, frozen=True, kw_only=True):
    """What is affected, by any of the criteria, and what must be done about it."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "notice")
    example: ClassVar[dict[str, Any]] = sample(
        "recall-opened",
        {
            "recall": "rc-2026-01",
            "action": "stop-use",
            "criteria": [
                {
                    "model": "northwind-2",
                    "item": "bat-64",
                    "lot": "B25-07",
                    "lots": ["B25-08", "B25-09"],
                    "lot_from": "B25-07",
                    "lot_to": "B25-11",
                    "serials": ["BT-1988"],
                    "serial_from": "BT-1900",
                    "serial_to": "BT-2099",
                    "made_from": "2025-01-01",
                    "made_to": "2025-03-31",
                    "received_from": "2025-04-01",
                    "received_to": "2025-12-31",
                    "expires_from": "2029-01-01",
                    "expires_to": "2030-12-31",
                }
            ],
            "due_on": "2026-03-31",
            "notice": "the maker's notice of 27 February 2026",
            "rehearsal": True,
        },
    )

    action: Action
    criteria: Annotated[tuple[Criterion, ...], Meta(min_length=1, max_length=MANY)]
    due_on: date | None = None
    notice: Text | None = None
    rehearsal: bool = False

    @override
    def adverse(self) -> bool:
        """Say yes: a recall is bad news."""
        return True
