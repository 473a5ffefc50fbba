"""Stock comes in."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import StockEvent
from service.domain.sample import sample
from service.domain.words import Label, Ref


class StockReceived(StockEvent, frozen=True, kw_only=True):
    """A delivery, perhaps against a line of an order."""

    example: ClassVar[dict[str, Any]] = sample(
        "stock-received",
        {
            "site": "harrow-dock",
            "item": "pf-170",
            "quantity": 40.0,
            "unit": "C62",
            "lot": "L2411",
            "expires": "2029-05",
            "place": "store-a",
            "order": "PO/2026/0071",
            "line": "10",
        },
    )

    place: Ref | None = None
    order: Label | None = None
    line: Label | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the item, the site and the order."""
        return (*super().subjects(), *([f"order:{self.order}"] if self.order else ()))
