from datetime import date, timedelta
from typing import get_args

from service.domain.demand.changes import Change, Ground
from service.domain.demand.counts import Counts
from service.domain.demand.forecast import Forecast
from service.domain.demand.outlook import FORETOLD, UNFORESEEN, Outlook
from service.domain.part import ReplacementReason

TODAY = date(2026, 3, 2)
DAMAGE = Forecast("croston", (1.0,) * 40, (1.0,) * 40)
BY_USE = Forecast("croston", (4.0,) * 40, (3.0,) * 40)
NONE = Forecast("croston", (), ())


def changes(count: int, days: int = 3, because: Ground = "loading") -> tuple[Change, ...]:
    """Give changes of so many places, so many days from today."""
    on = TODAY + timedelta(days=days)
    return tuple(Change(f"{because}-{place}", "pf-170", on, because) for place in range(count))


def test_the_larger_of_two_estimates_counts() -> None:
    """Six by use and five by condition are six, not eleven; nine by condition are nine."""
    assert Outlook(TODAY, DAMAGE, BY_USE, changes(5)).over(14) == Counts(8, 4)
    assert Outlook(TODAY, DAMAGE, BY_USE, changes(6)).over(14) == Counts(8, 4)
    assert Outlook(TODAY, DAMAGE, BY_USE, changes(9)).over(14) == Counts(11, 0)


def test_without_history_condition_tells() -> None:
    """A new site has parts in place and no use yet."""
    assert Outlook(TODAY, NONE, NONE, changes(4)).over(14) == Counts(4, 0)
    assert Outlook(TODAY, NONE, NONE, changes(4, days=15)).over(14) == Counts(0, 0)


def test_recalls_are_added() -> None:
    """What an open recall asks for is in no forecast."""
    assert Outlook(TODAY, DAMAGE, BY_USE, (*changes(5), *changes(4, 0, "recall"))).over(14) == Counts(12, 4)


def test_dates_are_looked_for_as_far_as_an_order_may_come() -> None:
    """A lead time with a deviation of three days reaches six days further."""
    outlook = Outlook(TODAY, NONE, NONE, changes(4, days=20))
    assert outlook.over(14, 9).mean == 4
    assert outlook.over(14, 8.9).mean == 0


def test_uncertain_days_widen_both_forecasts() -> None:
    """Each by its own use in a day."""
    found = Outlook(TODAY, DAMAGE, BY_USE).over(14, 49)
    assert (found.mean, round(found.variance, 9)) == (8, 4 + 9 + 1)


def test_each_reason_of_a_change_belongs_to_one_stream() -> None:
    """Those of `filter-replaced`, the recall aside, stand in one of the two lists."""
    assert not FORETOLD & UNFORESEEN
    assert FORETOLD | UNFORESEEN | {"recall"} == set(get_args(ReplacementReason))
