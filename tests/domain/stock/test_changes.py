"""What each event says of stock, and the order in which that is folded."""

from itertools import combinations

import pytest

from service.domain.stock.changes import changes_of, order
from tests.domain.stock.telling import UNITS, changes, fitted, read, stock
from tests.oracle.posting import Posted


def test_what_was_fitted_nobody_said_where_comes_off_the_site_of_its_unit() -> None:
    """A site that the event names goes before; without either it comes off nothing."""
    told = fitted(9)
    [(at, event)] = read([told])
    assert [one.site for one in changes_of(at, event, UNITS, home="works")] == ["dock"]
    del told.message["site"]
    [(at, event)] = read([told])
    assert [one.site for one in changes_of(at, event, UNITS, home="works")] == ["works"]
    assert list(changes_of(at, event, UNITS)) == []


AT_ONCE = [
    stock("received", 9, 9),
    stock("received", 9, 8, place="2-store"),
    stock("discarded", 9, 7, place="1-store", reason="wet"),
    stock("discarded", 9, 6, reason="wet"),
    stock("counted", 9, 5),
    stock("counted", 9, 1, place="1-store"),
    stock("counted", 9, 2, place="1-store", lot=None),
    stock("counted", 9, 2, place="1-store", lot="1-X"),
    stock("counted", 9, 2, place="1-store", lot="1-X", expires="2027-01"),
    stock("counted", 9, 0, place="2-store"),
]
"""Nothing that was said earlier, and all of it at nine, in the order in which it counts."""


@pytest.mark.parametrize(("first", "last"), list(combinations(AT_ONCE, 2)))
def test_at_one_instant_what_comes_goes_first_and_counts_are_last(first: Posted, last: Posted) -> None:
    """Out of a place before out of the site, the site counted before a place; then by what is said, nothing first."""
    found = [(one.quantity, one.lot, one.expires) for one in sorted(changes([last, first]), key=order)]
    assert found == [tuple(one.message.get(name) for name in ("quantity", "lot", "expires")) for one in (first, last)]


def test_an_earlier_instant_goes_before_all() -> None:
    """A count at eight before what came at nine."""
    told = sorted(changes([stock("received", 9, 4), stock("counted", 8, 2)]), key=order)
    assert [one.what for one in told] == ["counted", "received"]
