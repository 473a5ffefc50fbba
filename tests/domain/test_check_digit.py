"""Check digits and check characters, against the published vectors."""

import pytest

from service.domain.check_digit import is_checked, is_pair_checked

#: GS1 syntax dictionary, `lint_csum.c` (its unit tests); the worked examples are of GS1's own page on check digits
#: (6291041500213; SSCC 376104250021234569) and of its example GTIN 9506000134352.
VALID = ("02345673", "1234567890128", "12345678901231", "6291041500213", "376104250021234569", "09506000134352")
INVALID = ("12345673", "1234567890129", "6291041500214", "376104250021234568", "09506000134353")
NO_NUMBERS = ("", "1A", "\uff11\uff12")


@pytest.mark.parametrize("digits", VALID)
def test_digits_with_their_check_digit_are_right(digits: str) -> None:
    """A published number checks itself."""
    assert is_checked(digits)


@pytest.mark.parametrize("digits", [*INVALID, *NO_NUMBERS])
def test_other_digits_are_wrong(digits: str) -> None:
    """A changed digit is found, and what is no number is none."""
    assert not is_checked(digits)


#: GS1 syntax dictionary, `lint_csumalpha.c` (its unit tests).
@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("1987654Ad4X4bL5ttr2310c2K", True),
        ("1987654Ad4X4bL5ttr2310cXK", False),
        ("1987654Ad4X4bL5ttr2310c2X", False),
        ("2K", False),
        ("1987654 d4X4bL5ttr2310c2K", False),
        ("1987654Ad4X4bL5ttr2310c2K2K", False),
    ],
)
def test_check_characters_are_those_of_gs1(text: str, right: bool) -> None:
    """The check pair of a Global Model Number is right as published, and wrong where either is changed."""
    assert is_pair_checked(text) is right
