"""Where a part was fitted of which nobody said where."""

from datetime import date

import pytest

from service.domain.stock.homes import Spell, home_of
from tests.domain.units import world
from tests.oracle.posting import moment

DAY = date(2026, 3, 2)


def spell(site: str, since: str | None, until: str | None = None, *, own: bool = True) -> Spell:
    """Say that a unit was at a site."""
    begin, end = [None if one is None else moment(one) for one in (since, until)]
    return Spell(site, begin, end, own)


@pytest.mark.parametrize(
    ("left", "site"),
    [
        ("2026-03-02 20:00", "mesa"),
        ("2026-03-03 00:00", "mesa"),  # London's day is over just then, and belongs no more
        ("2026-03-03 00:01", "mesa"),  # both clocks find it there: it came to the mesa last
        ("2026-03-03 06:01", "dock"),  # the mesa's day ended at six, before it came
    ],
)
def test_a_day_is_that_of_the_place(left: str, site: str) -> None:
    """From the dock to the mesa, six hours behind: each is asked when its own day ended."""
    spells = [spell("dock", "2026-01-05 08:00", left), spell("mesa", left)]
    assert home_of(spells, DAY, world()) == site


def test_where_no_day_ended_it_is_where_it_came_last() -> None:
    """From the mesa to the dock, where that day was over: neither clock finds it there."""
    spells = [spell("mesa", "2026-01-05 08:00", "2026-03-03 03:00"), spell("dock", "2026-03-03 03:00")]
    assert home_of(spells, DAY, world()) == "dock"


def test_of_several_units_the_one_that_was_anywhere_counts() -> None:
    """Then the one that has the tag now; what is only known of now counts last."""
    now, other = spell("works", None), spell("dock", "2026-01-05 08:00", own=False)
    assert home_of([now, other], None, world()) == "dock"
    assert home_of([other, spell("mesa", "2026-01-05 08:00")], None, world()) == "mesa"
    assert home_of([spell("mesa", "2026-01-05 08:00"), other], None, world()) == "mesa"
    assert home_of([now], None, world()) == "works"
    assert home_of([now], DAY, world()) == "works"
