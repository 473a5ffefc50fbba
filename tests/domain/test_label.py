"""Labels in order and in ranges: as text, with runs of digits as numbers (R34)."""

import re
import sys
import tracemalloc
import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.domain.label import lies_between, normal, same, sorting
from tests.oracle.labels import IGNORED, plain

LETTERS = st.text(max_size=8)
ODD = st.text(
    "aEß\u017fΐᾳﬁ\uff19\uff1901 \u00ad\u0301\u0345\u0308\u200b\u200d\u200e\u3164\ufe0f\ufeff\u00a8½㍿", max_size=8
)
LEADING = re.compile("(?<![0-9])0+(?=[0-9])")
UNWRITTEN = {"Cs", "Co", "Cn"}
"""Halves of characters, and codes that are none."""

IN_ORDER = [
    ("B25-9", "B25-10"),
    ("B25-07", "B25-8"),
    ("B24-99", "B25-1"),
    ("BT-1999", "BT-2000"),
    ("L2", "L10"),
    ("2", "10"),
    ("L", "L0"),
    ("L1", "L1A"),
    ("L1A", "L2"),
    ("L1A9", "L1A10"),
    ("L1-9", "L1.2"),
    ("L-9", "L9"),
    ("9", "A"),
    ("-", "0"),
    ("0", ":"),
    ("A-1", "B-0"),
    ("99999999999999999998", "99999999999999999999"),
    ("٣9", "٣10"),
]


@pytest.mark.parametrize(("first", "second"), IN_ORDER)
def test_runs_of_digits_count_as_numbers(first: str, second: str) -> None:
    """Each of these comes before the other."""
    assert sorting(first) < sorting(second)
    assert not same(first, second)


@pytest.mark.parametrize(
    ("one", "other"), [("b25-7", "B25-07"), (" L9 ", "L9"), ("L009", "l9"), ("0", "00"), ("A0B", "a000b")]
)
def test_case_spaces_and_leading_zeros_mean_nothing(one: str, other: str) -> None:
    """These are the same label."""
    assert same(one, other)


@pytest.mark.parametrize(("one", "other"), [("L9", "L90"), ("L-9", "L9"), ("9", "9A"), ("٣", "3"), ("L 9", "L9")])
def test_anything_else_means_something(one: str, other: str) -> None:
    """These are not; digits are 0 to 9 alone."""
    assert not same(one, other)


@pytest.mark.parametrize(
    ("label", "first", "last", "lies"),
    [
        ("BT-1900", "BT-1900", "BT-2099", True),
        ("bt-2099", "BT-1900", "BT-2099", True),
        ("BT-1950A", "BT-1900", "BT-2099", True),
        ("BT-1899", "BT-1900", "BT-2099", False),
        ("BT-2100", "BT-1900", "BT-2099", False),
        ("BT-19500", "BT-1900", "BT-2099", False),
        ("BX-1950", "BT-1900", "BT-2099", False),
        ("BT-1950", "BT-2099", "BT-1900", True),
        ("BT-2100", "BT-2099", "BT-1900", False),
        ("BT-1900", "BT-1900", None, True),
        ("BT-1899", "BT-1900", None, False),
        ("BT-1900", None, "BT-1900", True),
        ("BT-1901", None, "BT-1900", False),
        ("anything", None, None, True),
    ],
)
def test_both_ends_of_a_range_belong_to_it(label: str, first: str | None, last: str | None, *, lies: bool) -> None:
    """Whichever way round they stand; None is no end."""
    assert lies_between(label, first, last) == lies


def test_a_label_is_compared_trimmed_and_in_capitals() -> None:
    """As the serials of units are (R13)."""
    assert normal("  ab-1 ") == "AB-1"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        *((label, "L2411") for label in ("\ufeffL2411", "L2411\u200b", "\u200eL2411", "L\u00ad2411", "L2411\ufe0f")),
        *(
            (label, "L2411")
            for label in (
                "\uff2c\uff12\uff14\uff11\uff11",
                "\uff4c\uff12\uff14\uff11\uff11",
                "Ⓛ2411",
                "L2411\u3000",
                "\ufeff l2411 \u200b",
            )
        ),
        *((label, "\u00c91") for label in ("E\u03011", "e\u03011", "\u00e91", "E\u200d\u03011", "É\uff11")),
        *(("\u1fb3", label) for label in ("\u03b1\u0345", "\u0391\u0399")),
        *((f"L{dash}2411", "L-2411") for dash in "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"),
        *(("STRA\u1e9eE", "stra\u00dfe"), ("L\U0001bca02411", "L2411")),
        *(("L\U000e00222411", "L2411"), ("L2²", "L22"), ("№ 9", "No 9"), ("Straße", "STRASSE")),
    ],
)
def test_how_a_device_writes_a_label_means_nothing(one: str, other: str) -> None:
    """With marks nobody sees, wide, with an accent after its letter: these are the same."""
    assert same(one, other)
    assert normal(one) == normal(other)
    assert sorting(one) == sorting(other)


@given(LETTERS | ODD)
@example("\u03b7\u200d\u0345\u200d\u0301")
def test_a_label_as_it_is_compared_stays_as_it_is(label: str) -> None:
    """Compared once or twice, whatever it is made of; and as another reading of the words has it."""
    assert normal(normal(label)) == normal(label) == plain(label)


@given(LETTERS | ODD, LETTERS | ODD)
def test_labels_that_are_compared_alike_are_the_same(one: str, other: str) -> None:
    """But for leading zeros; they have one place in the order."""
    alike = LEADING.sub("", normal(one)) == LEADING.sub("", normal(other))
    assert same(one, normal(one))
    assert same(one, other) == alike == (sorting(one) == sorting(other))


def test_every_character_is_compared_as_it_stays() -> None:
    """Alone and before an accent; none is left that nobody sees, and none comes to be many digits."""
    written = (chr(code) for code in range(sys.maxunicode + 1))
    for sign in (one for one in written if unicodedata.category(one) not in UNWRITTEN):
        told = normal(sign)
        assert told == normal(told) == plain(sign), hex(ord(sign))
        accented = f"x{sign}\u0301y"
        assert normal(accented) == normal(normal(accented)) == plain(accented), hex(ord(sign))
        assert sum(one in "0123456789" for one in told) < 10, hex(ord(sign))
        assert IGNORED.isdisjoint(map(ord, told)), hex(ord(sign))


def test_labels_that_grow_as_they_are_compared_are_not_kept_for_long() -> None:
    """A request may bring ten thousand that are each eighteen times as long then: a process has no room for them."""
    grown = [f"{chr(0xFDFA) * 96}{number:04d}" for number in range(1000)]
    tracemalloc.start()
    found = {sorting(label) for label in grown}
    assert len(found) == len(grown)
    del found
    kept, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert kept < 4 * 2**20
