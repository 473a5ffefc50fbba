"""A proposed reorder is approved."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import OrderEvent
from service.domain.sample import sample
from service.domain.words import Quantity, Ref


class ReorderApproved(OrderEvent, frozen=True, kw_only=True):
    """The proposal may be ordered, in its own or another quantity."""

    example: ClassVar[dict[str, Any]] = sample("reorder-approved", {"proposal": "pr-0071", "quantity": 60.0})

    proposal: Ref
    quantity: Quantity | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the proposal."""
        return (f"proposal:{self.proposal}",)
