from datetime import date, timedelta

from msgspec.structs import replace
from scipy.stats import poisson

from service.domain.demand.changes import Change
from service.domain.demand.counts import Counts
from service.domain.demand.forecast import Forecast
from service.domain.demand.lead_time import LeadTime
from service.domain.demand.outlook import Outlook
from service.domain.demand.reorder import Reorder, Sold, Stock, Terms, reorder
from service.domain.demand.shelf_life import Lot, Usable

TODAY = date(2026, 3, 2)
THREE_A_WEEK = Forecast("croston", (3.0,) * 40, (3.0,) * 40)
NONE = Forecast("croston", (), ())
OUTLOOK = Outlook(TODAY, THREE_A_WEEK, NONE)
LEAD = LeadTime(7)
TERMS = Terms(0.95)
PACKED = Sold(pack=4, minimum=8)
STOCK = Stock((Lot(7, date(2027, 3, 31)),), on_order=2, owed=1)


def test_the_arithmetic_can_be_followed() -> None:
    """Six in a week of lead time and one between two looks, twelve in the four weeks between two orders."""
    found = reorder(OUTLOOK, LEAD, STOCK, PACKED, TERMS)
    assert replace(found, fill_rate=round(found.fill_rate, 9)) == Reorder(
        lead_days=7,
        lead_variance=0.0,
        look_days=7,
        protected_days=14,
        unforeseen=6,
        foretold=0,
        changes=0,
        recalls=0,
        use_mean=6,
        use_variance=6,  # Poisson: as the mean
        family="poisson",
        level=0.95,
        reorder_point=10,  # the printed 95 % point of Poisson(6), see test_counts
        order_days=28,
        use_between=12,
        order_up_to=22,
        fill_rate=0.993555439,  # 1 - (n(10) - n(22)) / 12 by scipy
        in_stock=7,
        recalled=0,
        expiring=0,
        on_order=2,
        owed=1,
        position=8,  # 7 + 2 - 1
        wanted=14,  # 22 - 8
        pack=4,
        minimum=8,
        rounded=16,
        usable_days=None,
        usable_mean=None,
        usable=None,
        limits=("pack",),
        quantity=16,
    )


def test_above_the_reorder_point_nothing_is_ordered() -> None:
    """At it, something is."""
    at = reorder(OUTLOOK, LEAD, Stock((Lot(10),)), PACKED, TERMS)
    above = reorder(OUTLOOK, LEAD, Stock((Lot(11),)), PACKED, TERMS)
    assert (at.position, at.quantity) == (10, 12)
    assert (above.position, above.wanted, above.quantity) == (11, 0, 0)


def test_what_will_expire_is_not_counted_on() -> None:
    """Of nine that expire in six days three are used by then, at three a week."""
    found = reorder(OUTLOOK, LEAD, Stock((Lot(9, TODAY + timedelta(days=6)), Lot(5))), PACKED, TERMS)
    assert (found.in_stock, found.expiring, found.position) == (14, 6, 8)


def test_no_more_is_ordered_than_can_be_used_in_time() -> None:
    """Six weeks of shelf life and one of lead time are 21 pieces, eight of which are there: 13, or three packs."""
    found = reorder(OUTLOOK, LEAD, STOCK, Sold(pack=4, minimum=8, shelf_days=42), TERMS)
    assert found.usable == Usable(13, Counts(21).quantile(0.95) - 8)
    assert (found.usable_days, found.usable_mean) == (49, 21)
    assert (found.rounded, found.quantity, found.limits) == (16, 12, ("pack", "expiry"))


def test_what_is_owed_is_ordered_though_nothing_is_foreseen() -> None:
    """Without use both levels are zero."""
    found = reorder(Outlook(TODAY, NONE, NONE), LEAD, Stock(owed=3), Sold(), TERMS)
    assert (found.reorder_point, found.order_up_to, found.quantity) == (0, 0, 3)
    assert reorder(Outlook(TODAY, NONE, NONE), LEAD, Stock(), Sold(), TERMS).quantity == 0


def test_a_wave_is_counted_once() -> None:
    """Forty changes in ten days raise the reorder point; what is used between two orders after it is as before."""
    wave = tuple(Change(f"unit-{place}", "pf-170", TODAY + timedelta(days=10), "service-limit") for place in range(40))
    found = reorder(replace(OUTLOOK, changes=wave), LEAD, Stock(), Sold(), TERMS)
    assert found.use_mean == 46
    assert found.order_up_to - found.reorder_point == 12


def test_an_uncertain_lead_time_asks_for_more() -> None:
    """A deviation of a week adds nine to the variance, three pieces a week squared."""
    found = reorder(OUTLOOK, LeadTime(7, 49.0, 5), Stock(), Sold(), TERMS)
    assert (found.use_mean, round(found.use_variance, 9), found.family) == (6, 9, "negative-binomial")
    assert found.reorder_point > reorder(OUTLOOK, LEAD, Stock(), Sold(), TERMS).reorder_point


def test_looks_and_orders_are_the_firms_to_set() -> None:
    """Looked at daily and ordered for a week."""
    found = reorder(OUTLOOK, LEAD, Stock(), Sold(), Terms(0.95, look_days=1, order_days=7))
    assert (found.protected_days, found.order_up_to - found.reorder_point) == (8, 3)


def test_what_is_ordered_at_least_makes_the_fill_rate() -> None:
    """A pack of 100 runs low less often than twelve pieces, a minimum of 60 does too."""
    bare, packed, least = (
        reorder(OUTLOOK, LEAD, Stock(), sold, TERMS).fill_rate for sold in (Sold(), Sold(pack=100), Sold(minimum=60))
    )
    assert bare < least < packed


def test_a_single_piece_may_be_all_that_is_ordered() -> None:
    """Three a week and ordered daily: the level is one above the point, and so many is what the fill rate is of.

    1 - (n(7) - n(8)) / 1 is the chance of no more than seven; by scipy, with a mean of 3 3/7 in eight days.
    """
    found = reorder(OUTLOOK, LeadTime(7), Stock(), Sold(), Terms(0.95, look_days=1, order_days=1))
    assert (found.reorder_point, found.order_up_to) == (7, 8)
    assert round(found.fill_rate, 9) == round(float(poisson(24 / 7).cdf(7)), 9)
