"""An order is called off."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import OrderEvent
from service.domain.sample import sample
from service.domain.words import Label, Reason, Ref


class OrderCancelled(OrderEvent, frozen=True, kw_only=True):
    """Nothing more of the order is expected; of one for several proposals, of the part of the one that is named."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "order-cancelled", {"order": "PO/2026/0071", "reason": "supplier cannot deliver", "proposal": "pr-0071"}
    )

    order: Label
    reason: Reason
    proposal: Ref | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the order, and the proposal."""
        return (f"order:{self.order}", *([f"proposal:{self.proposal}"] if self.proposal else ()))
