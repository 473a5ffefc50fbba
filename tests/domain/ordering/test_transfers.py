"""What other sites can spare goes before what is bought."""

from datetime import date

from service.domain.demand.shelf_life import Lot
from service.domain.ordering.transfers import Surplus, Transfer, surplus, transfers

TODAY = date(2026, 3, 2)


def test_a_site_spares_what_it_has_beyond_its_own_level() -> None:
    """Of what is only on its way it can send nothing on, and of what has expired neither."""
    lots = [Lot(10, date(2027, 1, 31)), Lot(10, date(2026, 9, 30)), Lot(5, date(2026, 3, 1))]
    assert surplus("yard", lots, 25, 12, TODAY) == Surplus("yard", 13.0, date(2026, 9, 30))
    assert surplus("yard", lots, 60, 12, TODAY) == Surplus("yard", 20.0, date(2026, 9, 30))
    assert surplus("yard", lots, 12.9, 12, TODAY) is None
    assert surplus("yard", [Lot(5, date(2026, 3, 2))], 5, 0, TODAY) == Surplus("yard", 5.0, date(2026, 3, 2))


def test_what_expires_soonest_is_taken_first() -> None:
    """Then from where most is; in whole numbers, and no more than is wanted."""
    offered = [Surplus("a", 4), Surplus("b", 9), Surplus("c", 3, date(2026, 9, 30))]
    assert transfers(14.5, offered) == (Transfer("c", 3.0), Transfer("b", 9.0), Transfer("a", 2.0))
    assert transfers(2, offered) == (Transfer("c", 2.0),)
    assert transfers(0.9, offered) == ()
    assert transfers(5, []) == ()
