"""Approval: how much of what was approved, and for how much money, and what goes beyond it."""

from collections.abc import Iterable
from datetime import date

import msgspec

from service.domain.money import exact, spelled
from service.domain.ordering.costs import Cost, Wanted, costs_of
from service.domain.ordering.lines import summed
from service.domain.ordering.order import Deed
from service.domain.stock.lines import is_alike


class Approval(msgspec.Struct, frozen=True):
    """An approval, and of how much if it says so; `within_cap` says that a policy's cap stands for a manager.

    `price` is that of one of the item when it was approved, None where it had none: nobody set a bound then. `unit` is
    what the item was counted in, None where it was not defined; `alien` says that it is another by now. `on` is the
    local day.
    """

    deed: Deed
    on: date
    quantity: float | None
    within_cap: bool
    price: Cost | None = None
    site: str | None = None
    item: str | None = None
    unit: str | None = None
    alien: bool = False

    @property
    def cost(self) -> Cost | None:
        """Give for how much money it is."""
        if self.price is None or self.quantity is None:
            return None
        return Cost(exact(self.quantity) * self.price.amount, self.price.currency)

    def exceeded(self, goods: Iterable[Wanted], before: Iterable[Wanted] = ()) -> str | None:
        """Say in what way an order goes beyond it; None where it does not. One without lines is of as much as it is.

        `before` is what it was used for already: it is for all orders of its proposal together.
        """
        new, used = list(goods) or [Wanted(self.item or "", None, self.quantity or 0.0, None)], list(before)
        others = sorted({one.item for one in new} - {self.item}) if self.item is not None else []
        if others:
            return f"nobody approved {' or '.join(others)}"
        strange = next((one.unit for one in new if not is_alike(one.unit, self.unit)), None)
        if strange is not None:
            return f"nobody can say how many {self.unit} so many {strange} are, and {self.unit} were approved"
        more = f", with {spelled(summed(one.quantity for one in used))} that were ordered before," if used else ""
        quantity = summed(one.quantity for one in (*used, *new))
        if self.quantity is not None and quantity > self.quantity:
            return f"{spelled(quantity)}{more} are more than the {spelled(self.quantity)} that were approved"
        bound = self.cost
        if bound is None or all(one.price is None for one in (*used, *new)):
            return None
        for cost in costs_of((*used, *new), self.price):
            if cost.currency != bound.currency or cost.amount > bound.amount:
                return f"{cost} are beyond the {bound} that were approved"
        return None
