"""The arithmetic of one need."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.demand.reorder import Stock
from service.domain.demand.shelf_life import Lot, Usable
from service.domain.kinds.item_defined import ItemDefined
from service.domain.ordering.reckoning import Situation, lead_of, reckon
from tests.domain.reference_data import day, item

TODAY = date(2026, 3, 2)


def defined(**fields: Any) -> ItemDefined:
    """Define the filter."""
    event = item(day(1), **fields).event
    assert isinstance(event, ItemDefined)
    return event


def situation(**fields: Any) -> Situation:
    """Two a week for twenty weeks, three weeks of lead time, six in stock."""
    given: dict[str, Any] = {"today": TODAY, "item": defined(lead_time_days=21), "level": 0.95}
    given |= {"stock": Stock((Lot(6.0),)), "unforeseen": (2.0,) * 20, "foretold": (0.0,) * 20}
    return Situation(**given | fields)


@pytest.mark.parametrize(
    ("observed", "stated", "elsewhere", "days", "said"),
    [
        ((), None, (), 14.0, "assumed"),
        ((), 21, (), 21.0, "stated"),
        ((), 21, (1.0, 1.0, 1.0), 21.0, "stated"),
        ((9.0,), 21, (), 15.0, "observed-and-stated"),
        ((9.0,), 21, (1.0, 1.0, 1.0), 15.0, "observed-and-stated"),
        ((9.0,), None, (), 9.0, "observed"),
        ((9.0,), None, (5.0,), 7.0, "observed-elsewhere"),
        ((), None, (5.0,), 5.0, "observed-elsewhere"),
        ((9.0, 12.0, 15.0), 21, (), 12.0, "observed"),
        ((9.0, 12.0, 15.0), None, (1.0, 1.0), 12.0, "observed"),
    ],
)
def test_the_lead_time_says_where_it_is_from(
    observed: tuple[float, ...], stated: int | None, elsewhere: tuple[float, ...], days: float, said: str
) -> None:
    """Orders that came, what is said of the item while they are few, orders of other sites, or our own two weeks."""
    found = lead_of(observed, defined() if stated is None else defined(lead_time_days=stated), elsewhere)
    assert (found.time.days, found.said) == (days, said)


def test_each_stream_is_forecast_by_itself() -> None:
    """Four weeks are protected: eight by use, which nothing announces."""
    found = reckon(situation())
    assert (found.unforeseen.pattern.kind, found.foretold.pattern.kind) == ("smooth", "none")
    assert (found.reorder.protected_days, round(found.reorder.use_mean, 9)) == (28.0, 8.0)
    assert found.unforeseen.score is not None
    assert (found.unforeseen.score.periods, found.unforeseen.score.origins) == (4, 5)


def test_what_is_moved_is_not_bought() -> None:
    """The rest is, in packs, as long as what is moved does not lift it above the reorder point."""
    found = reckon(situation(item=defined(lead_time_days=21, pack_size=4.0, minimum_order=8.0)))
    point, wanted = found.reorder.reorder_point, found.reorder.wanted
    assert (point, wanted) == (13, 15.0)  # the 95 % point of Poisson(8) by scipy; 13 + 8 - 6
    assert [found.bought(moved).quantity for moved in (0, 3, 7, 8, 15)] == [16.0, 12.0, 8.0, 0.0, 0.0]


def test_what_is_moved_is_used_up_first() -> None:
    """Of what can be used in time the moved is a part."""
    found = reckon(situation(item=defined(lead_time_days=21, shelf_life_months=1)))
    assert found.reorder.usable is not None
    expected = found.reorder.usable.expected  # two a week for 21 + 30 days, less six: 8
    assert expected == 8
    assert [found.bought(moved).quantity for moved in (0, 5)] == [8.0, 3.0]


def test_what_is_there_is_used_before_what_comes() -> None:
    """Two a week: four in a fortnight, less the three here that expire within it."""
    lots = Lot(3.0, date(2026, 3, 10)), Lot(3.0, date(2026, 9, 30)), Lot(3.0)
    found = reckon(situation(stock=Stock(lots)))
    assert [round(found.used_by(day), 9) for day in (date(2026, 3, 15), date(2026, 3, 8), date(2026, 3, 1))] == [
        1,
        2,
        0,
    ]


def test_a_lot_is_used_on_its_last_day() -> None:
    """Nine days use 18/7, and the three that expire on the ninth are that and 3/7 more."""
    found = reckon(situation(stock=Stock((Lot(3.0, date(2026, 3, 10)),))))
    assert round(found.used_by(date(2026, 3, 10)), 9) == round(-3 / 7, 9)


def test_what_is_delivered_at_once_is_forecast_for_a_week() -> None:
    """Until the next look: one period."""
    found = reckon(situation(item=defined(lead_time_days=0))).unforeseen.score
    assert found is not None
    assert found.periods == 1


def test_a_box_is_bought_for_what_may_be_used_at_best() -> None:
    """Once five are moved it is eight at best, so that a box of ten is too many; once two are it is eleven."""
    found = reckon(situation(item=defined(lead_time_days=21, pack_size=10.0)))
    found = replace(found, reorder=replace(found.reorder, usable=Usable(8, 13)))
    assert [found.bought(moved).quantity for moved in (2, 5)] == [10.0, 0.0]


def test_what_cannot_be_used_any_more_is_not_bought() -> None:
    """Two may be used in the mean and five at best, and six are moved: none of the nine still wanted."""
    found = reckon(situation())
    found = replace(found, reorder=replace(found.reorder, usable=Usable(2, 5)))
    assert (found.bought(6).wanted, found.bought(6).quantity) == (9.0, 0.0)
