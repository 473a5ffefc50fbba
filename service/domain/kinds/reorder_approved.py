"""A proposed reorder is approved."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import OrderEvent
from service.domain.sample import sample
from service.domain.words import Quantity, Ref


class ReorderApproved(OrderEvent, frozen=True, kw_only=True):
    """The proposal may be ordered, in its own or another quantity.

    `within_cap` says that no manager looked at it: it was placed within the policy `order-cap`, which approves it.
    """

    example: ClassVar[dict[str, Any]] = sample(
        "reorder-approved", {"proposal": "pr-0071", "quantity": 60.0, "within_cap": True}
    )

    proposal: Ref
    quantity: Quantity | None = None
    within_cap: bool = False

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the proposal."""
        return (f"proposal:{self.proposal}",)
