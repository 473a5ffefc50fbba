"""Labels in order and in ranges: as text, with runs of digits as numbers (R34)."""

import pytest

from service.domain.label import lies_between, normal, place, same

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
    assert place(first) < place(second)
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
