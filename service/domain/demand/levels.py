"""When to order, and up to what: the reorder point and the order-up-to level for a service level.

A policy of kind (s, S), looked at every so often: once what is there and on its way is at or below the reorder point,
it is filled up to the order-up-to level. What is asked for beyond the stock waits. The service level is the chance that
nothing runs out before an order placed at the next look has come ("cycle" or P1 service of textbooks). Source: Silver,
Pyke and Thomas, "Inventory and production management in supply chains", 4th edition 2017, the chapters on probabilistic
models and (R, s, S) systems (from memory).
"""

from math import ceil

import msgspec

from service.domain.demand.counts import Counts

DIGITS = 9
"""Decimals that count where a mean is rounded up, so that three are not four for the sake of a rounding error."""


class Levels(msgspec.Struct, frozen=True):
    """The reorder point and the order-up-to level, in whole numbers of the item's unit; both zero without use."""

    reorder_point: int
    order_up_to: int


def levels(protected: Counts, between: float, level: float) -> Levels:
    """Give both levels for a service level (0 to 1, both excluded).

    `protected` is the use from a look at the stock until what the next look orders has come: lead time and one interval
    of looking. `between` is the mean use between one order and the next, which sets how much is ordered.
    """
    if protected.mean <= 0:
        return Levels(0, 0)
    point = protected.quantile(level)
    return Levels(point, point + max(1, ceil(round(between, DIGITS))))


def fill_rate(protected: Counts, reorder_point: float, quantity: float) -> float:
    """Give the share of what is asked for that is given from stock at once in the long run, with orders of a quantity.

    It is 1 - (n(s) - n(s+Q)) / Q, n being the mean shortage (`Counts.short`), and never below the service level of s.
    Exact where single pieces are used and the stock is looked at after each; looked at less often it is too low, with
    use in lots, which jump below the reorder point, too high. Source: as above, P2 service.
    """
    return 1 - (protected.short(reorder_point) - protected.short(reorder_point + quantity)) / quantity
