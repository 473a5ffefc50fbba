"""What counts did not find any more was used, unless a recount put it right."""

from typing import Any

import pytest

from service.domain.stock.missed import missed
from tests.domain.stock.telling import books, fitted, stock
from tests.oracle.posting import Posted, say


def counted(day: int, quantity: float, **fields: Any) -> Posted:
    """Count the filters at the dock on a day of March."""
    given = {"site": "dock", "item": "p3", "unit": "C62", "lot": "L-9"} | fields
    return say("stock-counted", f"2026-03-{day:02d} 09:00", quantity=quantity, **given)


@pytest.mark.parametrize(
    ("told", "used"),
    [
        ([counted(3, 35), counted(4, 31)], [5, 4]),
        ([counted(3, 0), counted(20, 40)], []),  # put right, however late
        ([counted(3, 38), counted(4, 8), counted(5, 36)], [2, 2]),  # the latest is taken back first
        ([counted(3, 35), counted(4, 50), counted(5, 47)], []),  # what is beyond explains what is missed the day after
        ([counted(3, 1000), counted(5, 38)], [2]),  # mistyped, and put right within two days
        ([counted(3, 50), counted(6, 47)], [3]),  # found, and used from then on
        ([counted(3, 50), counted(3, 50), counted(4, 47)], [3]),  # the count in between was right
        ([counted(3, 35), counted(4, 35.5)], [4.5]),  # half of one was found again
        ([counted(3, 50, lot=None), counted(4, 47, lot=None)], []),  # counted without a lot, beyond and missed
    ],
)
def test_differences_are_netted(told: list[Posted], used: list[float]) -> None:
    """Of forty that came on the second of March."""
    came = stock("received", 8, 40)
    assert [float(one.quantity) for one in missed(books([came, *told]).entries)] == used


def test_what_was_found_of_one_lot_explains_no_other() -> None:
    """Ten of L-9 beyond what was known; the day after three of L-8 are missed, and L-8 is none of those."""
    came = [stock("received", 8, 40), stock("received", 8, 20, lot="L-8")]
    found = missed(books([*came, counted(3, 50), counted(4, 17, lot="L-8")]).entries)
    assert [int(one.quantity) for one in found] == [3]


@pytest.mark.parametrize("kind", ["received", "moved"])
def test_a_receipt_or_a_move_ends_it(kind: str) -> None:
    """What was missed before it stays used, whatever is found later."""
    came = stock("received", 8, 40)
    given: dict[str, Any] = {"site": "dock", "item": "p3", "unit": "C62", "lot": "L-9", "quantity": 2}
    given |= {"to_site": "works"} if kind == "moved" else {}
    two = say(f"stock-{kind}", "2026-03-04 09:00", **given)
    found = missed(books([came, counted(3, 35), two, counted(5, 60)]).entries)
    assert [int(one.quantity) for one in found] == [5]


def test_what_was_fitted_stays_used() -> None:
    """Found again by a count, though it is said to be fitted: that is no miss to be taken back."""
    assert missed(books([stock("received", 8, 40), fitted(9, lot="L-9"), counted(3, 40)]).entries) == []
