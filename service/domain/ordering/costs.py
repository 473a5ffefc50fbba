"""Costs: what an order asks for and what that comes to, as it is held against an approval or a cap."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from typing_extensions import override

from service.domain.kinds.order_placed import OrderLine
from service.domain.money import exact, priced
from service.domain.ordering.order import Order


class Cost(NamedTuple):
    """An amount of money, exact."""

    amount: Decimal
    currency: str

    @override
    def __str__(self) -> str:
        """Write it as a person reads it."""
        return f"{priced(self.amount, self.currency)} {self.currency}"


class Wanted(NamedTuple):
    """So much of an item in a unit, None where none was said; `price` is that of one, if it has one of its own."""

    item: str
    unit: str | None
    quantity: float
    price: Cost | None


def wanted(lines: Iterable[OrderLine]) -> tuple[Wanted, ...]:
    """Give what lines ask for, as they were said."""
    return tuple(Wanted(one.item, one.unit, one.quantity, _price(one.price, one.currency)) for one in lines)


def standing(orders: Iterable[Order]) -> Iterator[Wanted]:
    """Give what orders ask for; of one that was called off that alone which came of it."""
    for order, line in ((one, line) for one in orders for line in one.lines):
        ordered = line.ordered or 0.0
        quantity = min(ordered, line.received) if order.cancelled else ordered
        price = None if line.price is None else Decimal(line.price)
        yield Wanted(line.item, line.unit, quantity, _price(price, line.currency))


def costs_of(goods: Iterable[Wanted], price: Cost | None) -> tuple[Cost, ...]:
    """Give what goods cost at their own prices, by currency; those without one cost the price given, if any."""
    found: dict[str, Decimal] = {}
    for one in goods:
        each = one.price or price
        if each is not None:
            found[each.currency] = found.get(each.currency, Decimal(0)) + exact(one.quantity) * each.amount
    return tuple(Cost(amount, currency) for currency, amount in sorted(found.items()))


def _price(price: Decimal | None, currency: str | None) -> Cost | None:
    return None if price is None else Cost(price, currency or "")
