"""Doing: what may be done about a proposal as far as it is, and what was done already.

Each gives the deed that it would repeat, or None where it is to be done. Raises ProposalState with what to do instead.
"""

from collections.abc import Sequence
from decimal import Decimal

from service.domain.errors import ProposalState
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.money import spelled
from service.domain.ordering.life import Life
from service.domain.ordering.lines import Line
from service.domain.ordering.order import ENDED, Deed, Order
from service.domain.stock.lines import is_alike

NEXT = "What is still needed is proposed anew, under a name of its own: look at /v1/reorders."


def to_approve(life: Life, quantity: float | None) -> Deed | None:
    """Give the approval of so much (None: of whatever it was) that there is already."""
    known = life.approval
    if known is not None and quantity in {None, known.quantity}:
        return known.deed
    if life.orders:
        raise _no(life, NEXT)
    if known is not None:
        approved = "its own quantity" if known.quantity is None else spelled(known.quantity)
        instead = f"It was approved for {approved}: to change that, void event {known.deed.event} and approve it again."
        raise _no(life, instead)
    return None


def to_place(life: Life, said: OrderPlaced) -> Deed | None:
    """Give the placement of the same order that there is already, if it was not called off since."""
    for order in life.orders:
        if order.order == said.order and order.cancelled is not None:
            raise _no(life, f"Order {order.order!r} was called off by event {order.cancelled.event}. {NEXT}")
        if order.order == said.order and _is_same(order, said):
            return order.placed
    if life.orders:
        raise _no(life, NEXT)
    return None


def to_cancel(life: Life, number: str | None) -> Order:
    """Give the order that is meant: the one named, else the only one that goes on; it may be called off already."""
    if not life.orders:
        where = "" if life.approval is None else f": to take the approval back, void event {life.approval.deed.event}"
        raise _no(life, f"There is no order to call off{where}.")
    named = [order for order in life.orders if number in {None, order.order}]
    going_on = [order for order in named if order.state not in ENDED]
    called_off = [order for order in named if order.cancelled is not None]
    if len(going_on) > 1:
        numbers = " and ".join(sorted(repr(order.order) for order in going_on))
        raise _no(life, f"It was ordered as {numbers}: say as 'order' which of them.")
    if not going_on and not called_off:
        raise _no(life, "It has all come." if named else f"It was never ordered as {number!r}.")
    return (going_on or called_off)[0]


def _no(life: Life, instead: str) -> ProposalState:
    return ProposalState(life.proposal, life.state, life.order.order if life.order else None, instead)


def _is_same(order: Order, said: OrderPlaced) -> bool:
    """Say whether an order is the one that is told again; what is left out then is as it was."""
    return (
        (not said.lines or _are_same(order.lines, said.lines))
        and said.supplier in {None, order.supplier}
        and said.expected_on in {None, order.expected_on}
    )


def _are_same(known: Sequence[Line], said: Sequence[OrderLine]) -> bool:
    """Say whether lines are the same, however their units and prices are written, and in whatever order."""
    told = {line.line: line for line in known}
    return len(known) == len(said) and all(line.line in told and _is_line(told[line.line], line) for line in said)


def _is_line(known: Line, said: OrderLine) -> bool:
    price = None if known.price is None else Decimal(known.price)
    return (known.item, known.ordered, price, known.currency) == (
        said.item,
        said.quantity,
        said.price,
        said.currency,
    ) and is_alike(known.unit, said.unit)
