"""What other sites can spare goes before what is bought."""

from datetime import date

import pytest

from service.domain.demand.shelf_life import Lot
from service.domain.ordering.transfers import Surplus, Transfer, less, surplus, transfers

TODAY = date(2026, 3, 2)
LATE = Lot(10, date(2027, 1, 31), "L-2")
SOON = Lot(10, date(2026, 9, 30), "L-1")
GONE = Lot(5, date(2026, 3, 1), "L-0")


@pytest.mark.parametrize(
    ("owed", "position", "spared"),
    [
        (0, 25, (Lot(8, SOON.expires, "L-1"),)),  # 20 that are good, less 12
        (0, 225, (Lot(8, SOON.expires, "L-1"),)),  # 200 are on their way: they free nothing
        (3, 22, (Lot(5, SOON.expires, "L-1"),)),  # 3 are owed
        (0, 16.9, (Lot(4, SOON.expires, "L-1"),)),  # of what it has some will expire: 16 by position
        (0, 12.9, None),
        (8, 225, None),
    ],
)
def test_a_site_spares_what_lies_there_beyond_its_own_level(
    owed: float, position: float, spared: tuple[Lot, ...] | None
) -> None:
    """Up to twelve are its own; what is only on its way cannot be sent on, nor what has expired, nor what it owes."""
    found = surplus("yard", [LATE, SOON, GONE], owed, position, 12, TODAY)
    assert found == (None if spared is None else Surplus("yard", spared))


def test_the_soonest_expiry_that_can_be_used_is_spared_first() -> None:
    """The last day of a lot is a day of use; of fractions only whole numbers are sent."""
    assert surplus("yard", [LATE, SOON, GONE], 0, 25, 5, TODAY) == Surplus("yard", (SOON, Lot(5, LATE.expires, "L-2")))
    today = Lot(5, date(2026, 3, 2))
    assert surplus("yard", [today, Lot(2.5)], 0, 7.5, 0, TODAY) == Surplus("yard", (today, Lot(2)))


def much(_day: date) -> float:
    """Use a hundred by any day."""
    return 100.0


def test_what_would_expire_before_it_is_used_is_not_sent() -> None:
    """One is used every two days: of ten that last to the fifth one can go; of those that last longer three more."""
    offered = [Surplus("a", (Lot(10, date(2026, 3, 5), "L-1"), Lot(10, date(2026, 3, 10), "L-2"), Lot(2)))]
    found = transfers(12, offered, lambda day: (day - TODAY).days / 2)
    assert [(one.lot, one.quantity) for one in found] == [("L-1", 1.0), ("L-2", 3.0), (None, 2.0)]


def test_of_one_expiry_the_site_that_has_more_gives_first() -> None:
    """Nine in two lots go before one lot of six, whatever the lots are called; then the site's name tells."""
    end = date(2026, 9, 30)
    more, other = Surplus("b", (Lot(5, end, "L-2"), Lot(4, end, "L-3"))), Surplus("a", (Lot(6, end, "L-1"),))
    assert transfers(5, [other, more], much) == (Transfer("b", 5.0, "L-2", end),)
    assert transfers(1, [Surplus("d", (Lot(6),)), Surplus("c", (Lot(6),))], much) == (Transfer("c", 1.0),)


def test_a_single_one_is_spared_sent_and_left() -> None:
    """One beyond the site's own level; of two offered one is left when one is promised."""
    assert surplus("yard", [Lot(1)], 0, 1, 0, TODAY) == Surplus("yard", (Lot(1),))
    two = Surplus("yard", (Lot(2, lot="L-1"),))
    assert less([two], transfers(1, [two], much)) == (Surplus("yard", (Lot(1, lot="L-1"),)),)


def test_lots_of_one_expiry_go_in_their_order() -> None:
    """What bears no lot before those that do."""
    found = surplus("yard", [Lot(1, lot="2-B"), Lot(1, lot="1-A"), Lot(1)], 0, 3, 0, TODAY)
    assert found is not None
    assert [lot.lot for lot in found.lots] == [None, "1-A", "2-B"]


def test_what_expires_soonest_is_taken_first() -> None:
    """Then from where most is; in whole numbers, and no more than is wanted."""
    end = date(2026, 9, 30)
    offered = [Surplus("a", (Lot(4),)), Surplus("b", (Lot(9),)), Surplus("c", (Lot(3, end, "L-1"),))]
    taken = (Transfer("c", 3.0, "L-1", end), Transfer("b", 9.0), Transfer("a", 2.0))
    assert transfers(14.5, offered, much) == taken
    assert transfers(2, offered, much) == (Transfer("c", 2.0, "L-1", end),)
    assert transfers(0.9, offered, much) == ()
    assert transfers(5, [], much) == ()
    assert less(offered, taken) == (Surplus("a", (Lot(2),)),)
    assert less(offered, ()) == tuple(offered)
