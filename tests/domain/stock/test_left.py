"""What is left of a line: since when, what it is called, and how it is told."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest

from service.domain.stock.ledger import Left, described, name_of
from tests.domain.stock.telling import books, fitted, stock


def line(quantity: str = "12", **fields: Any) -> Left:
    """Give what is left of a line."""
    given: dict[str, Any] = {"lot": "L-9", "expires": "2028-02", "unit": "C62"} | fields
    return Left(quantity=Decimal(quantity), since=datetime(2026, 3, 2, tzinfo=UTC), by=UUID(int=1), **given)


def test_it_is_there_since_the_first_of_it_came() -> None:
    """A single one at eight; what came at nine was more of it."""
    assert [one.since.hour for one in books([stock("received", 8, 1), stock("received", 9, 2)]).lines] == [8]


def test_it_is_there_since_a_count_found_it_where_it_was_short() -> None:
    """Below nothing since nine; three are found at ten."""
    posted = [stock("counted", 8, 0), fitted(9, lot="L-9"), fitted(9, lot="L-9"), stock("counted", 10, 3)]
    assert [(int(one.quantity), one.since.hour) for one in books(posted).lines] == [(3, 10)]


def test_it_has_one_name_however_it_is_written() -> None:
    """By its lot as lots are sorted, its last day and its unit; what was not said is left empty."""
    assert name_of(line()) == "L-00019/2028-02-29/C62"
    assert name_of(line(lot="l-009", expires="2028-02-29", unit="each")) == "L-00019/2028-02-29/C62"
    assert name_of(line(lot=None, expires=None, unit="box")) == "//BOX"


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (line(), "12 C62 of lot L-9 (good to 2028-02)"),
        (line("-2.5", lot=None, unit="box"), "2.5 box of no lot (good to 2028-02)"),
        (line("1", expires=None), "1 C62 of lot L-9"),
    ],
)
def test_it_is_described_in_words(left: Left, words: str) -> None:
    """How much there is or is missing, of which lot, and to when it is good where that was said."""
    assert described(left) == words
