"""A life: what became of one proposal."""

import msgspec

from service.domain.ordering.approval import Approval
from service.domain.ordering.lines import summed
from service.domain.ordering.naming import Need
from service.domain.ordering.order import ENDED, Deed, Order, State, state_of


class Life(msgspec.Struct, frozen=True, kw_only=True):
    """What became of a proposal; `need` is None where no site and item on record has it.

    Of several approvals that count the last one does; `idle` are those that count for nothing.
    """

    proposal: str
    need: Need | None
    approval: Approval | None = None
    idle: tuple[Deed, ...] = ()
    orders: tuple[Order, ...] = ()

    @property
    def state(self) -> State:
        """Say how far it is: where one order of several goes on, the proposal does; else by what was kept of them."""
        if not self.orders:
            return "open" if self.approval is None else "approved"
        living = [order for order in self.orders if order.state not in ENDED] or self.kept
        lines = [line for order in living for line in order.lines]
        return state_of(lines, cancelled=any(order.cancelled is not None for order in living))

    @property
    def acted_on(self) -> bool:
        """Say whether its need is dealt with, so that a further one is another."""
        return self.state != "open"

    @property
    def quantity(self) -> float | None:
        """Give how much was ordered, else how much was approved; None where nobody said, or only in another unit.

        What was called off before anything of it came is left out, unless all was.
        """
        lines = [line for order in self.kept for line in order.lines]
        if any(line.alien for line in lines):
            return None
        ordered = [line.ordered for line in lines if line.ordered is not None]
        if ordered:
            return summed(ordered)
        return None if self.approval is None or self.approval.alien else self.approval.quantity

    @property
    def kept(self) -> tuple[Order, ...]:
        """Give the orders that were not called off before anything came; all of them, where each was."""
        return tuple(order for order in self.orders if order.state != "cancelled") or self.orders

    @property
    def order(self) -> Order | None:
        """Give the order that goes on, else the last."""
        going_on = [order for order in self.orders if order.state not in ENDED]
        return next(reversed(going_on or self.orders), None)

    @property
    def placed_twice(self) -> bool:
        """Say whether there is more than one order for it."""
        return len({order.order for order in self.orders}) > 1
