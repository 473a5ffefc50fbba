"""An order went to a supplier."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, ClassVar

from msgspec import Meta
from typing_extensions import override

from service.domain.event import OrderEvent
from service.domain.sample import sample
from service.domain.value import FieldError, Value, each_once
from service.domain.words import MANY, Amount, Currency, Label, Quantity, Ref


class OrderLine(Value, frozen=True, kw_only=True):
    """One line of an order; a price stands with its currency."""

    line: Label
    item: Ref
    quantity: Quantity
    unit: Ref
    price: Amount | None = None
    currency: Currency | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a price without its currency."""
        if self.price is not None and self.currency is None:
            yield FieldError("currency", "a price needs its currency")


class OrderPlaced(OrderEvent, frozen=True, kw_only=True):
    """The proposal became this order."""

    example: ClassVar[dict[str, Any]] = sample(
        "order-placed",
        {
            "proposal": "pr-0071",
            "order": "PO/2026/0071",
            "lines": [
                {
                    "line": "10",
                    "item": "pf-170",
                    "quantity": 60.0,
                    "unit": "C62",
                    "price": "18.40",
                    "currency": "GBP",
                }
            ],
            "supplier": "sup-4",
            "expected_on": "2026-03-16",
        },
    )

    proposal: Ref
    order: Label
    lines: Annotated[tuple[OrderLine, ...], Meta(max_length=MANY)] = ()
    supplier: Ref | None = None
    expected_on: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that stands twice."""
        yield from each_once("lines", (line.line for line in self.lines), "line")

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the order and the proposal."""
        return (f"order:{self.order}", f"proposal:{self.proposal}")
