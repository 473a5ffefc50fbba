"""An order is called off."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import OrderEvent
from service.domain.sample import sample
from service.domain.words import Label, Reason


class OrderCancelled(OrderEvent, frozen=True, kw_only=True):
    """Nothing more of the order is expected."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "order-cancelled", {"order": "PO/2026/0071", "reason": "supplier cannot deliver"}
    )

    order: Label
    reason: Reason

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the order."""
        return (f"order:{self.order}",)
