"""When to order, and up to what: the reorder point and the order-up-to level for a service level.

A policy of kind (s, S), looked at every so often: once what is there and on its way is at or below the reorder point,
it is filled up to the order-up-to level. What is asked for beyond the stock waits. The service level has two meanings
in textbooks, and both are kept: the chance that nothing runs out before an order placed at the next look has come
("cycle" or P1 service), and the share of what is asked for that is given from stock at once (fill rate, P2). For use in
rare lots the second asks for more. Source: Silver, Pyke and Thomas, "Inventory and production management in supply
chains", 4th edition 2017, the chapters on probabilistic models and (R, s, S) systems (from memory).
"""

from bisect import bisect_left
from math import ceil

import msgspec

from service.domain.demand.counts import Counts

NEARLY_ALL = 1 - 1e-9


class Levels(msgspec.Struct, frozen=True):
    """The reorder point and the order-up-to level, in whole numbers of the item's unit; both zero without use."""

    reorder_point: int
    order_up_to: int


def levels(protected: Counts, between: float, level: float, least: float = 1) -> Levels:
    """Give both levels for a service level (0 to 1, both excluded).

    `protected` is the use from a look at the stock until what the next look orders has come: lead time and one interval
    of looking. `between` is the mean use between one order and the next, which sets how much is ordered; `least` what
    is ordered at least, a pack or the minimum. No reorder point is beyond what is exceeded with a chance of 1e-9.
    """
    if protected.mean <= 0:
        return Levels(0, 0)
    quantity = max(1, ceil(between))
    lasting = protected.quantile(level)
    points = range(lasting, max(lasting, protected.quantile(NEARLY_ALL)))
    point = lasting + bisect_left(points, level, key=lambda point: fill_rate(protected, point, max(quantity, least)))
    return Levels(point, point + quantity)


def fill_rate(protected: Counts, reorder_point: float, quantity: float) -> float:
    """Give the share of what is asked for that is given from stock at once in the long run, with orders of a quantity.

    It is 1 - (n(s) - n(s+Q)) / Q, n being the mean shortage (`Counts.short`): exact where the stock is looked at after
    every piece, on the safe side where it is looked at less often. Source: as above, P2 service.
    """
    return 1 - (protected.short(reorder_point) - protected.short(reorder_point + quantity)) / quantity
