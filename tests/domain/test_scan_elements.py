"""Element strings of GS1, against the unit tests of the reference implementation (gs1/gs1-syntax-engine, `ai.c`).

There `^` stands for FNC1; a reader gives GS (ASCII 29) for each but the first.
"""

import re
from datetime import date

import pytest

from service.domain.scan.element_string import read_printed, read_string
from service.domain.scan.pairing import faults
from service.domain.scan.reading import Element, Unreadable

TODAY = date(2026, 3, 2)


def string(text: str) -> tuple[Element, ...]:
    """Read a text as the reference writes it."""
    return read_string(text.removeprefix("^").replace("^", "\x1d"), TODAY)


def said(elements: tuple[Element, ...]) -> str:
    """Write elements in brackets."""
    return "".join(f"({one.identifier}){one.value}" for one in elements)


#: `test_ai_parseAIdata`: what is printed, and the same as a code.
ALIKE = (
    ("(01)12345678901231", "^0112345678901231"),
    ("(10)12345", "^1012345"),
    ("(01)12345678901231(10)12345", "^01123456789012311012345"),
    ("(3100)123456(10)12345", "^31001234561012345"),
    ("(10)12345(11)991225", "^1012345^11991225"),
    ("(3900)12345(11)991225", "^390012345^11991225"),
)


@pytest.mark.parametrize(("printed", "code"), ALIKE)
def test_print_and_code_say_the_same(printed: str, code: str) -> None:
    """What is printed in brackets is what the code says."""
    assert said(read_printed(printed, TODAY)) == said(string(code)) == printed


@pytest.mark.parametrize(
    ("printed", "value"), [(r"(10)12345\(11)991225", "12345(11)991225"), (r"(10)12345\(", "12345(")]
)
def test_an_escaped_bracket_is_part_of_the_value(printed: str, value: str) -> None:
    """A bracket behind a backslash begins no identifier."""
    assert [one.value for one in read_printed(printed, TODAY)] == [value]


#: `test_ai_parseAIdata`, those that must fail.
NOT_PRINTED = (
    *("(10)(11)98765", "(10)12345(11)", "(1A)12345", "1(12345", "12345", "()12345", "(1)12345", "(12345)12345", "(15"),
    *(
        "(1",
        "(",
        "(01)123456789012312(10)12345",
        "(10)12345^",
        "(17)9(90)217",
        "(10) ",
        "(00)A23456789012345675",
        "(010)2345678901231",
    ),
)


@pytest.mark.parametrize("text", NOT_PRINTED)
def test_what_is_printed_otherwise_is_refused(text: str) -> None:
    """Identifiers are numbers in brackets, values have their format and are not empty."""
    with pytest.raises(Unreadable):
        read_printed(text, TODAY)


#: `test_ai_processAIdata`.
CODES = (
    *("^991234", "^0112345678901231", "^0112345678901231^", "^0112345678901231991234", "^0112345678901231^991234"),
    *("^2421", "^242123456", "^242123456^10ABC123", "^242123456^", "^81111234", "^81111234^10ABC123"),
    *("^800112341234512398", "^800112341234512398^0112345678901231", "^7007211225211231", "^7007211225"),
    *("^800302112345678900ABC", "^800302112345678900", "^800302112345678900^10ABC123"),
    *("^800302112345678900ABCDEFGHIJKLMNOP", "^7230121234567890123456789012345678", "^7230123"),
)
NO_CODES = (
    *("^", "^891234", "^99~ABC", "^99ABC~", "^01A2345678901231", "^011234567890123A", "^0112345678901234"),
    *("^011234567890123", "^01123456789012312", "^011234567890123^", "^01123456789012345^"),
    *("^01123456789012345^991234", "^2421234567", "^8111123", "^811112345", "^80011234123451239"),
    *("^8001123412345123981", "^80011234123451239^0112345678901231", "^8001123412345123981^01123456789012312"),
    *("^70072112252", "^7007211225211", "^70072112252212311", "^800302112345678901ABC"),
    *("^800302112345678900ABCDEFGHIJKLMNOPQ", "^72301212345678901234567890123456789", "^723012"),
)


@pytest.mark.parametrize("text", CODES)
def test_codes_of_the_reference_are_read(text: str) -> None:
    """Whatever the reference takes is taken, separators that are not needed included."""
    assert string(text)


@pytest.mark.parametrize("text", NO_CODES)
def test_codes_that_the_reference_refuses_are_refused(text: str) -> None:
    """A wrong check digit, length or character fails the whole code."""
    with pytest.raises(Unreadable):
        string(text)


#: `test_ai_linters`.
@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("(00)123456789012345675", True),
        ("(00)123456789012345670", False),
        ("(01)95012345678903(3103)000123", True),
        ("(01)95012345678902(3103)000123", False),
        ("(01)95012345678903(11)131313", False),
        ("(8013)123456ABXX", False),
        ("(8013)1987654Ad4X4bL5ttr2310c2K", True),
        ("(01)12345678901231(8014)1987654Ad4X4bL5ttr2310c2K", True),
        ("(01)12345678901231(8014)1987654Ad4X4bL5ttr2310cXK", False),
    ],
)
def test_values_are_checked(text: str, right: bool) -> None:
    """Check digits, check characters and months are checked within a longer code, too."""
    if right:
        assert said(read_printed(text, TODAY)) == text
    else:
        with pytest.raises(Unreadable):
            read_printed(text, TODAY)


#: `test_ai_validateAIassociations`, and of the syntax dictionary (10), (17), (21), (254).
TOGETHER = (
    *("(400)ABC", "(400)ABC(400)ABC", "(400)ABC(99)DEF(400)ABC", "(21)ABC123(01)12345678901231"),
    *("(21)ABC123(8006)123456789012310510", "(01)12345678901231(21)XYZ999(250)ABC123"),
    *("(02)12345678901231(37)123(00)123456789012345675", "(01)12345678901231(3925)12599(30)123"),
    *("(91)XXX(02)12345678901231(92)YYY(37)123(93)ZZZ(00)123456789012345675",),
    *("(01)12345678901231(3925)12599(3100)654321", "(01)12345678901231(3925)12599(3295)654321"),
    *("(01)12345678901231(10)ABC(17)290531", "(03)12345678901231(21)ABC", "(414)9520123456788(254)32a/b"),
)
NOT_TOGETHER = (
    *("(01)12345678901231(02)12345678901231", "(99)ABC123(01)12345678901231(02)12345678901231"),
    *("(01)12345678901231(255)5412345000150", "(01)12345678901231(37)123", "(21)ABC123(235)XYZ"),
    *("(01)12345678901231(8006)123456789012310510", "(8006)123456789012310510(37)5"),
    *("(02)12345678901231", "(02)12345678901231(37)123", "(21)ABC123", "(01)12345678901231(250)ABC123"),
    *("(01)12345678901231(3925)12599", "(10)ABC", "(17)290531", "(20)01", "(11)250611", "(254)32a/b"),
)
TWICE = ("(400)ABC(400)AB", "(400)ABC(400)ABCD", "(400)ABC(400)XYZ(400)XYZ", "(400)ABC(99)DEF(400)XYZ")


@pytest.mark.parametrize("text", TOGETHER)
def test_elements_that_belong_together_are_right(text: str) -> None:
    """What needs another has it."""
    assert list(faults(read_printed(text, TODAY))) == []


@pytest.mark.parametrize("text", NOT_TOGETHER)
def test_elements_that_do_not_are_told(text: str) -> None:
    """What lacks another, or stands with what bars it, is told."""
    assert list(faults(read_printed(text, TODAY)))


@pytest.mark.parametrize("text", TWICE)
def test_an_identifier_that_is_said_twice_says_the_same(text: str) -> None:
    """Two values of one identifier are two codes."""
    with pytest.raises(Unreadable):
        read_printed(text, TODAY)


def test_a_fault_names_what_to_send() -> None:
    """What is missing is named, and how the codes of one package are sent together."""
    (said,) = faults(string("^10ABC"))

    assert said.startswith("(10) says nothing without (01), (02), (03), (8006), (8026): ")
    assert said.endswith("send both codes of the package as one text, in brackets")


#: Days: of the GS1 General Specifications, section 7.12, as biip 5.2.0 reads them; `lint_yymmd0.c` for those refused.
@pytest.mark.parametrize(
    ("digits", "today", "day"),
    [
        ("990200", TODAY, date(1999, 2, 28)),
        ("280200", TODAY, date(2028, 2, 29)),
        ("000606", TODAY, date(2000, 6, 6)),
        ("200131", TODAY, date(2020, 1, 31)),
        ("760101", TODAY, date(2076, 1, 1)),
        ("770101", TODAY, date(1977, 1, 1)),
        ("240101", date(2075, 1, 1), date(2124, 1, 1)),
        ("260101", date(2075, 1, 1), date(2026, 1, 1)),
        ("250101", date(2075, 1, 1), date(2125, 1, 1)),
    ],
)
def test_days_have_their_month_and_their_century(digits: str, today: date, day: date) -> None:
    """Day 00 is the last of the month; a year lies at most 50 years ahead and 49 back."""
    assert [one.day for one in read_string(f"17{digits}", today)] == [day]


@pytest.mark.parametrize("digits", ["200010", "201310", "209910", "200132", "20013", "2001311", "210229"])
def test_no_day_there_is_is_refused(digits: str) -> None:
    """A month 00 or 13, a day 32 and five or seven digits are no day."""
    with pytest.raises(Unreadable):
        read_string(f"17{digits}", TODAY)


def test_an_expiry_with_its_time_always_names_a_day() -> None:
    """In (7003) a day 00 is none (`yymmdd` in the syntax dictionary)."""
    assert [one.day for one in read_string("70032905311430", TODAY)] == [date(2029, 5, 31)]
    with pytest.raises(Unreadable, match="no day"):
        read_string("70032905001430", TODAY)


@pytest.mark.parametrize(("time", "right"), [("0000", True), ("2359", True), ("2400", False), ("1260", False)])
def test_an_expiry_with_its_time_names_a_time_there_is(time: str, right: bool) -> None:
    """Of (7003) the last four digits are an hour and a minute (`hhmi` in the syntax dictionary)."""
    if right:
        assert [one.value for one in read_string(f"7003290531{time}", TODAY)] == [f"290531{time}"]
    else:
        with pytest.raises(Unreadable, match=r"^\(7003\) is no time there is"):
            read_string(f"7003290531{time}", TODAY)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("(17)201310", "there is no month 13"),
        ("(17)200032", "there is no month 00"),
        ("(17)200132", "no month has a day 32"),
        ("(17)210229", "that month has no such day"),
        ("(7003)2013010000", "there is no month 13"),
    ],
)
def test_a_date_says_which_part_of_it_is_wrong(text: str, wrong: str) -> None:
    """Six digits are there: it is the month or the day that no calendar has."""
    with pytest.raises(Unreadable, match=f"^{re.escape(text[: text.index(')') + 1])} is no day there is: {wrong}; "):
        read_printed(text, TODAY)


@pytest.mark.parametrize("text", ["(17)2013", "(17)20X101", "(11)2012101"])
def test_what_is_no_six_digits_is_told_to_be_none(text: str) -> None:
    """Too few, too many, or a letter among them."""
    with pytest.raises(Unreadable, match="is not N6"):
        read_printed(text, TODAY)


def test_an_address_is_no_element_string() -> None:
    """Marked as one it is refused: what to send is said, and the text is not said again."""
    with pytest.raises(Unreadable, match="begins with digits") as refused:
        string("^https://id.example.com/01/09506000134352")
    assert "http" not in str(refused.value)


def test_no_code_has_more_than_64_elements() -> None:
    """A text of thousands of elements is given up early."""
    with pytest.raises(Unreadable, match="more than 64"):
        read_string("2011" * 2_000, TODAY)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("10ABC 1", "(10) may not have the character ' '"),
        ("10AB^C", "(10) may not have the character '^'"),
        (f"10{'A' * 21}", "(10) is too long, or the separator behind it is missing"),
    ],
)
def test_what_does_not_end_where_it_may_is_told_why(text: str, wrong: str) -> None:
    """A character that is not of the set CSET 82 is no missing separator."""
    with pytest.raises(Unreadable, match=f"^{re.escape(wrong)}$"):
        read_string(text, TODAY)
