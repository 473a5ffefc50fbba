"""A consumable or spare as the firm defines it."""

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar

from msgspec import Meta
from typing_extensions import override

from service.domain.event import ReferenceEvent
from service.domain.sample import sample
from service.domain.value import FieldError, Value
from service.domain.words import Amount, Currency, Days, Fit, Gtin, Label, Labels, Months, Quantity, Ref


class ServiceLimit(Value, frozen=True, kw_only=True):
    """How long an item may serve once fitted, by any measure given."""

    days: Days | None = None
    hours: Annotated[float, Meta(ge=0, le=1_000_000)] | None = None
    shifts: Annotated[int, Meta(ge=0, le=100_000)] | None = None


class ItemDefined(ReferenceEvent, frozen=True, kw_only=True):
    """How an item is known, counted, bought and how long it lasts."""

    not_judged: ClassVar[tuple[str, ...]] = (
        *("name", "gtin", "part_number", "pack_size", "minimum_order"),
        *("lead_time_days", "price", "currency"),
    )
    example: ClassVar[dict[str, Any]] = sample(
        "item-defined",
        {
            "effective_from": "2026-03-02T00:00:00+00:00",
            "correction": True,
            "reason": "in stock before the records began",
            "item": "pf-170",
            "name": "Particle filter 170",
            "fit": "loose",
            "size": "M",
            "gtin": "9521101530018",
            "part_number": "170-220",
            "unit": "C62",
            "pack_size": 4.0,
            "minimum_order": 8.0,
            "shelf_life_months": 60,
            "service_limit": {"days": 180, "hours": 400.0, "shifts": 50},
            "after_opening_days": 180,
            "covers": ["P3"],
            "lead_time_days": 14,
            "price": "18.40",
            "currency": "GBP",
        },
    )

    item: Ref
    name: Label
    fit: Fit | None = None
    size: Label | None = None
    gtin: Gtin | None = None
    part_number: Label | None = None
    unit: Ref
    pack_size: Quantity | None = None
    minimum_order: Quantity | None = None
    shelf_life_months: Months | None = None
    service_limit: ServiceLimit | None = None
    after_opening_days: Days | None = None
    covers: Labels = ()
    lead_time_days: Days | None = None
    price: Amount | None = None
    currency: Currency | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a price without its currency."""
        if self.price is not None and self.currency is None:
            yield FieldError("currency", "a price needs its currency")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the item."""
        return (f"item:{self.item}",)
