from datetime import date

import pytest

from service.domain.demand.counts import Counts
from service.domain.demand.shelf_life import Lot, Usable, expiring, usable

TODAY = date(2026, 3, 2)
LOTS = (Lot(5, date(2026, 3, 11)), Lot(20, date(2026, 3, 6)), Lot(7), Lot(9, date(2026, 3, 20)))


@pytest.mark.parametrize(
    ("per_day", "until", "wasted"),
    [
        (2.0, date(2026, 3, 6), 0),  # the lot that ends on the 6th may be used that day
        (2.0, date(2026, 3, 7), 10),  # five days of two
        (2.0, date(2026, 3, 12), 10),  # then five more days: the next lot is used up
        (2.0, date(2026, 4, 1), 10),
        (0.5, date(2026, 4, 1), 17.5 + 2.5 + 4.5),
        (0.0, date(2026, 4, 1), 34),
        (9.0, date(2026, 4, 1), 0),
    ],
)
def test_what_expires_unused(per_day: float, until: date, wasted: float) -> None:
    """Oldest expiry first; what does not expire is never lost."""
    assert expiring(LOTS, per_day, TODAY, until) == wasted


def test_what_has_expired_is_lost() -> None:
    """Whatever is used a day."""
    assert expiring((Lot(4, date(2026, 3, 1)), Lot(4, date(2026, 2, 1))), 9.0, TODAY, date(2026, 3, 3)) == 8


@pytest.mark.parametrize(
    ("position", "more"),
    [(0.0, Usable(6, 10)), (2.5, Usable(3, 7)), (8.0, Usable(0, 2)), (11.0, Usable(0, 0)), (-2.0, Usable(8, 12))],
)
def test_what_can_be_used_in_time(position: float, more: Usable) -> None:
    """A mean of 6, and 10 at 95 %, less what goes first; what is owed makes room."""
    assert usable(Counts(6, 6), position, 0.95) == more
