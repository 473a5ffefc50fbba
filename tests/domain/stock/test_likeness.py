"""Which line of stock a change is of, where it leaves something unsaid."""

from typing import Any

import pytest

from tests.domain.stock.telling import left, stock

GOOD = {"expires": "2028-01"}


def gone(**said: Any) -> Any:
    """Throw one away."""
    return stock("discarded", 9, 1, reason="wet", **said)


def test_the_lot_that_is_stated_goes_before_what_bears_none() -> None:
    """Though that expires first. Without a lot what expires first goes first, whether it bears one or not."""
    posted = [stock("received", 8, 2), stock("received", 8, 2, lot=None, expires="2027-01")]
    assert left([*posted, gone()]) == [(None, "2027-01", 2), ("L-9", None, 1)]
    assert left([*posted, gone(lot=None)]) == [(None, "2027-01", 1), ("L-9", None, 2)]


def test_of_one_expiry_what_bears_no_lot_goes_last() -> None:
    """As ledgers list it."""
    posted = [stock("received", 8, 2, lot=None, **GOOD), stock("received", 8, 2, **GOOD)]
    assert left([*posted, gone(lot=None)]) == [("L-9", "2028-01", 1), (None, "2028-01", 2)]


def test_a_piece_is_taken_from_pieces() -> None:
    """Not from the lot of which there are only boxes, though it expires first."""
    posted = [stock("received", 8, 2, lot="L-8", expires="2027-01", unit="box"), stock("received", 8, 2, **GOOD)]
    assert left([*posted, gone(lot=None)]) == [("L-8", "2027-01", 2), ("L-9", "2028-01", 1)]


@pytest.mark.parametrize("lot", ["L-9", None])
def test_what_is_taken_of_one_line_says_nothing_of_another(lot: str | None) -> None:
    """Ten lie in two stores, one of them is gone: store b has its five, so store a is to miss it.

    One of another lot is thrown away meanwhile. When store a has its five too, none is gone: ten there are.
    """
    posted = [
        stock("received", 7, 4, lot="L-8", expires="2027-01"),
        *(stock("received", 7, 5, lot=lot, place=place, **GOOD) for place in ("store-a", "store-b")),
        stock("discarded", 8, 5, lot=None, reason="wet"),
    ]
    assert left(posted) == [(lot, "2028-01", 9)]
    posted += [
        stock("counted", 9, 5, lot=lot, place="store-b", **GOOD),
        stock("received", 10, 1, lot="L-8", expires="2027-01"),
        stock("discarded", 11, 1, lot=None, reason="wet"),
        stock("counted", 12, 5, lot=lot, place="store-a", **GOOD),
    ]
    assert left(posted) == [(lot, "2028-01", 10)]


def test_what_takes_nothing_changes_nothing() -> None:
    """None thrown away, between the counts of two stores, leaves both counted."""
    posted = [
        *(stock("received", 7, 5, place=place) for place in ("store-a", "store-b")),
        stock("discarded", 8, 1, reason="wet"),
        stock("counted", 9, 5, place="store-b"),
        stock("discarded", 10, 0, reason="wet"),
        stock("counted", 11, 5, place="store-a"),
    ]
    assert left(posted) == [("L-9", None, 10)]
