"""Series of demand: what was used in each of equal periods, one after another."""

from collections.abc import Iterable
from datetime import date, timedelta

WEEK = 7


def by_period(uses: Iterable[tuple[date, float]], since: date, until: date, days: int = WEEK) -> tuple[float, ...]:
    """Add up what was used in whole periods of so many days, the oldest first.

    `since` is the first day on record; the last period ends with the day before `until`. Days left over at the
    beginning, and uses outside, are left out. Periods without use are zeros: they tell as much as the others.
    """
    periods = max(0, (until - since).days // days)
    start = until - timedelta(days=periods * days)
    sums = [0.0] * periods
    for day, quantity in uses:
        if start <= day < until:
            sums[(day - start).days // days] += quantity
    return tuple(sums)
