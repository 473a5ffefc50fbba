"""Spare stock that a recall speaks of, as it was counted, came, went and was fitted."""

from typing import Any

import msgspec
import pytest

from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.spare import Spare, arriving, spares
from tests.domain.stock.telling import UNITS, fitted, read, stock
from tests.oracle.firm import tell
from tests.oracle.posting import Posted

LOT = {"item": "p3", "lot": "L-9"}


def found_in(posted: list[Posted], *criteria: dict[str, Any]) -> list[Spare]:
    """Give the spare stock after so many events; p3 is counted in ones."""
    given = [msgspec.convert(one, Criterion) for one in criteria or [LOT]]
    return spares(read(posted), given, UNITS)


def left(posted: list[Posted], *criteria: dict[str, Any]) -> list[tuple[str, str | None, float, bool]]:
    """Give the site, the lot, how much is left and whether it is certain."""
    return [(one.site, one.lot, one.quantity, one.certain) for one in found_in(posted, *criteria)]


@pytest.mark.parametrize(
    ("posted", "found"),
    [
        ([stock("received", 8, 40)], [("dock", "L-9", 40, True)]),
        ([stock("received", 8, 40), stock("received", 9, 2, lot=" l-009 ")], [("dock", " l-009 ", 42, True)]),
        ([stock("received", 8, 40), stock("counted", 9, 7), stock("discarded", 10, 2, reason="wet")],
         [("dock", "L-9", 5, True)]),
        ([stock("counted", 9, 7), stock("received", 9, 40)], [("dock", "L-9", 7, True)]),
        ([stock("received", 8, 4), stock("moved", 9, 3, to_site="works")],
         [("dock", "L-9", 1, True), ("works", "L-9", 3, True)]),
        ([stock("received", 8, 4), fitted(9, lot="l-9"), fitted(10, "repaired", lot="L-9")],
         [("dock", "L-9", 2, True)]),
        ([stock("received", 8, 4), fitted(9, lot="L-9", condition="refitted")], [("dock", "L-9", 4, True)]),
        ([stock("received", 8, 1), fitted(9, lot="L-9")], []),
        ([stock("received", 8, 4, lot="L-8")], []),
        ([stock("received", 8, 4, item="tube")], []),
        ([stock("received", 8, 4, lot=None)], [("dock", None, 4, False)]),
    ],
)  # fmt: skip
def test_what_is_left(posted: list[Posted], found: list[Any]) -> None:
    """A count stands for all before it; the rest is added and taken off; without a lot it may be of any."""
    assert left(posted) == found


@pytest.mark.parametrize(
    ("criteria", "found"),
    [
        ({"item": "p3", "expires_to": "2028-12-31"}, [("dock", "L-9", 4, True)]),
        ({"item": "p3", "expires_to": "2027-12-31"}, []),
        ({"item": "p3", "model": "hood"}, [("dock", "L-9", 4, True)]),
        ({"item": "p3", "serials": ["S-1"]}, [("dock", "L-9", 4, False)]),
        ({"item": "p3", "received_from": "2026-01-01"}, [("dock", "L-9", 4, False)]),
        ({"model": "hood"}, []),
    ],
)
def test_which_stock_is_meant(criteria: dict[str, Any], found: list[Any]) -> None:
    """Its expiry is known; serial numbers and the day it came are not held against it; units are no stock."""
    assert left([stock("received", 8, 4, expires="2028-05")], criteria) == found


def test_what_is_fitted_nowhere_in_particular_is_taken_off_nothing() -> None:
    """A change that names no site, and one that only empties a position."""
    nowhere = fitted(9, lot="L-9")
    nowhere.message.pop("site")
    emptied = tell("part-replaced", "2026-03-02 10:00", site="dock", position="particle-filter", reason="damage")
    assert left([stock("received", 8, 4), nowhere, emptied]) == [("dock", "L-9", 4, True)]


@pytest.mark.parametrize(
    ("posted", "found"),
    [
        ([stock("counted", 8, 10, place="store-a"), stock("counted", 8, 5, place="store-b"), fitted(9, lot="L-9")], 14),
        ([stock("counted", 8, 10, place="store-a"), stock("counted", 9, 7)], 7),
        ([stock("counted", 8, 15), stock("counted", 9, 10, place="store-a")], 15),
        ([stock("counted", 8, 15), stock("counted", 9, 18, place="store-a")], 18),
        ([stock("received", 8, 40), stock("counted", 9, 38, place="store-a"), fitted(10, lot="L-9")], 39),
        ([stock("counted", 8, 10, place="store-a"), fitted(9, lot="L-9"), stock("counted", 10, 9, place="store-a")], 9),
        ([stock("counted", 8, 10, place="store-a"), fitted(9, lot="L-9"),
          stock("counted", 10, 12, place="store-a")], 12),
        ([stock("counted", 8, 9, place="store-a"), stock("received", 9, 5), fitted(10, lot="L-9"),
          stock("counted", 11, 8, place="store-a")], 13),
        ([stock("counted", 8, 9, place="store-a"), stock("received", 9, 5), fitted(10, lot="L-9"),
          stock("counted", 11, 9, place="store-a")], 13),
        ([stock("received", 8, 5), stock("discarded", 9, 2, place="store-a", reason="wet")], 3),
        ([stock("received", 8, 5, place="store-b"), stock("discarded", 9, 2, place="store-a", reason="wet")], 5),
        ([stock("received", 8, 5, place="store-a"), stock("discarded", 9, 2, place="store-a", reason="wet"),
          stock("moved", 10, 1, to_site="dock")], 3),
    ],
)  # fmt: skip
def test_places_are_counted_each_by_itself(posted: list[Posted], found: float) -> None:
    """A count without a place is of the site; what is taken from nowhere in particular comes off the whole."""
    assert sum(one.quantity for one in found_in(posted)) == found


def test_what_was_fitted_before_any_stock_was_told_of_is_owed_to_nothing() -> None:
    """Two were fitted of a stock that nobody had told of: the five that came are five, until someone counts."""
    posted = [fitted(6, lot="L-9"), fitted(7, lot="L-9"), stock("received", 8, 5)]
    assert left(posted) == [("dock", "L-9", 5, True)]
    assert left([*posted, stock("counted", 9, 3)]) == [("dock", "L-9", 3, True)]


def test_boxes_and_pieces_are_two_lines_and_a_part_is_a_piece() -> None:
    """No word says that a box is the pack of ten: five that were fitted come off the pieces."""
    posted = [stock("received", 8, 3, unit="box"), stock("received", 8, 8), stock("received", 9, 4, unit="each")]
    found = found_in([*posted, *(fitted(9, lot="L-9") for _ in range(5))])
    assert [(one.quantity, one.unit) for one in found] == [(3, "box"), (7, "each")]


def test_a_part_comes_off_the_unit_of_its_item() -> None:
    """An item that is counted in pairs is fitted in pairs; one that is not defined, in ones."""
    said = [stock("received", 8, 8, unit="PR"), fitted(9, lot="L-9")]
    told = read(said)
    for units, quantity in (({"p3": "PR"}, 7), ({}, 8)):
        assert [one.quantity for one in spares(told, [Criterion(item="p3")], units)] == [quantity]


def test_expiries_are_told_apart() -> None:
    """Stock of no lot has a line for every expiry, and so has a lot of two; a month is its last day."""
    said = [stock("received", 8, 10, lot=None, expires="2028-01"), stock("received", 8, 2, lot=None, expires="2029-01")]
    lots = [stock("received", 8, 3, expires="2028-01"), stock("received", 9, 1, expires="2029-01-31")]
    again = stock("received", 10, 4, expires="2028-01-31")
    for posted, expected in (
        (said, [(None, "2028-01", 10), (None, "2029-01", 2)]),
        ([*lots, again], [("L-9", "2028-01-31", 7), ("L-9", "2029-01-31", 1)]),
    ):
        assert [(one.lot, one.expires, one.quantity) for one in found_in(posted, {"item": "p3"})] == expected


def test_a_lot_of_one_expiry_has_it_wherever_none_is_said() -> None:
    """A filter fitted, and a count, without the expiry are of the same line; without a lot they are not."""
    assert left([stock("received", 8, 4, expires="2028-01"), fitted(9, lot="L-9")]) == [("dock", "L-9", 3, True)]
    assert left([stock("counted", 9, 2), stock("received", 8, 4, expires="2028-01")]) == [("dock", "L-9", 2, True)]
    unsaid = [stock("received", 8, 4, lot=None, expires="2028-01"), stock("received", 9, 1, lot=None)]
    assert left(unsaid, {"item": "p3", "expires_to": "2027-12-31"}) == [("dock", None, 1, False)]


def test_the_lot_is_the_same_however_it_is_typed() -> None:
    """Capital and small letters, spaces and leading zeros mean nothing."""
    posted = [stock("received", 8, 4, lot="BAD1"), stock("counted", 9, 3, lot="bad1"), fitted(10, lot=" Bad01")]
    assert [one.quantity for one in found_in(posted, {"lot": "bAD1"})] == [2]


@pytest.mark.parametrize(
    ("coming", "more"),
    [
        ([stock("received", 23, 3)], [("dock", "L-9", 3, False)]),
        ([stock("counted", 23, 6)], [("dock", "L-9", 2, False)]),
        ([stock("counted", 23, 4)], []),
        ([stock("counted", 23, 1)], []),
        ([stock("discarded", 23, 1, reason="wet"), fitted(23, lot="L-9")], []),
        ([stock("moved", 23, 2, to_site="works")], [("works", "L-9", 2, False)]),
        ([stock("received", 23, 3), stock("counted", 23, 2)], [("dock", "L-9", 3, False)]),
        ([stock("counted", 22, 5), stock("received", 23, 3)], [("dock", "L-9", 4, False)]),
        ([stock("received", 23, 3, lot="L-8")], []),
    ],
)
def test_what_there_may_be_by_days_that_are_not_over(coming: list[Posted], more: list[Any]) -> None:
    """Beside what is left, the most that any of it says there is beyond that; what is taken is there still."""
    criteria = [msgspec.convert(LOT, Criterion)]
    told = list(read([stock("received", 8, 4), *coming]))
    found = arriving(told[:1], told[1:], criteria, UNITS)
    assert [(one.site, one.lot, one.quantity, one.certain) for one in found] == more


@pytest.mark.parametrize(
    ("by_day", "begins", "quantity"),
    [
        (stock("received", 23, 3, lot="L-8"), 9, 3),
        (stock("counted", 23, 3, lot="L-8"), 9, 3),
        (stock("received", 23, 9, lot="L-8"), 9, 5),
        (stock("received", 23, 9, lot="L-8"), 13, 0),
        (stock("received", 23, 9, lot="L-8", unit="box"), 9, 0),
        (stock("received", 23, 9, lot="L-8", site="works"), 9, 0),
        (stock("received", 23, 9, lot=None), 9, 0),
    ],
)
@pytest.mark.parametrize("is_over", [True, False])
def test_what_came_by_a_day_alone_may_have_been_taken_on_that_day(
    by_day: Posted, begins: int, quantity: int, *, is_over: bool
) -> None:
    """It is told at the end of the day: what was taken without a lot at noon may be of it, and five of L-9 be there."""
    came, gone = stock("received", 8, 5, lot=None), stock("discarded", 12, 5, lot=None, reason="wet")
    told = list(read([came, gone, by_day]))
    ends, event = told[2]
    days = [(ends.replace(hour=begins), ends, event)]
    found = spares(told if is_over else told[:2], [msgspec.convert(LOT, Criterion)], UNITS, days)
    more = 9 if is_over and (event.site, event.lot) == ("dock", None) else 0
    assert sum(one.quantity for one in found if one.site == "dock") == quantity + more


@pytest.mark.parametrize(
    ("told", "quantity"),
    [
        ([("received", 12, 3), ("counted", 23, 0)], 3),
        ([("received", 8, 4), ("received", 12, 3), ("counted", 23, 1)], 4),
        ([("received", 12, 3), ("counted", 23, 3)], 3),
        ([("received", 12, 3), ("counted", 23, 9)], 9),
        ([("received", 8, 4), ("counted", 23, 0)], 0),
        ([("received", 8, 5), ("counted", 12, 1), ("discarded", 23, 4)], 1),
        ([("received", 8, 5), ("counted", 8, 5), ("discarded", 23, 4)], 1),
        ([("received", 8, 5), ("discarded", 23, 4)], 1),
    ],
)
def test_what_is_counted_or_taken_by_a_day_may_have_been_before_what_else_is_told_of_it(
    told: list[tuple[str, int, int]], quantity: int
) -> None:
    """The last states a day alone that began at nine: the count may have been before what came, or after what went."""
    extra = {"discarded": {"reason": "wet"}}
    posted = list(read([stock(kind, hour, much, lot="L-9", **extra.get(kind, {})) for kind, hour, much in told]))
    ends, event = posted[-1]
    found = spares(posted, [msgspec.convert(LOT, Criterion)], UNITS, [(ends.replace(hour=9), ends, event)])
    assert sum(one.quantity for one in found) == quantity
