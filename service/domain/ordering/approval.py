"""Approval: how much of what was approved, and for how much money, and what goes beyond it."""

from collections.abc import Sequence

import msgspec

from service.domain.kinds.order_placed import OrderLine
from service.domain.money import exact, spelled
from service.domain.ordering.authority import Cost, costs_of
from service.domain.ordering.lines import summed
from service.domain.ordering.order import Deed


class Approval(msgspec.Struct, frozen=True):
    """An approval, and of how much if it says so; `within_cap` says that a policy's cap stands for a manager.

    `price` is that of one of the item when it was approved, None where it had none: nobody set a bound then.
    """

    deed: Deed
    quantity: float | None
    within_cap: bool
    price: Cost | None = None
    site: str | None = None
    item: str | None = None

    @property
    def cost(self) -> Cost | None:
        """Give for how much money it is."""
        if self.price is None or self.quantity is None:
            return None
        return Cost(exact(self.quantity) * self.price.amount, self.price.currency)

    def exceeded(self, lines: Sequence[OrderLine]) -> str | None:
        """Say in what way an order goes beyond it; None where it does not. One without lines is as approved."""
        others = sorted({line.item for line in lines} - {self.item}) if self.item is not None else []
        if others:
            return f"nobody approved {' or '.join(others)}"
        quantity = summed(line.quantity for line in lines)
        if self.quantity is not None and quantity > self.quantity:
            return f"{spelled(quantity)} are more than the {spelled(self.quantity)} that were approved"
        bound = self.cost
        if bound is None or all(line.price is None for line in lines):
            return None
        for cost in costs_of(lines, self.price):
            if cost.currency != bound.currency or cost.amount > bound.amount:
                return f"{cost} are beyond the {bound} that were approved"
        return None
