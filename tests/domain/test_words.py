"""What each word takes and refuses."""

from datetime import date
from typing import Any

import msgspec
import pytest

from service.domain import words
from service.domain.period import Period

REF = [
    ("FX-0142", True),
    ("a", True),
    ("A.b_c-9", True),
    ("x" * 40, True),
    ("x" * 41, False),
    ("", False),
    ("two words", False),
    ("a/b", False),
    ("été", False),
    ("a\n", False),
    ("٣", False),
    ("a\x00", False),
]
TEXT = [
    ("", True),
    ("  ", True),
    ("two\nlines,\r\na\ttab", True),
    ("日本 é 🙂", True),
    ("x" * 500, True),
    ("x" * 501, False),
    ("nul \x00", False),
    ("bell \x07", False),
    ("delete \x7f", False),
    ("c1 \x85", False),
    ("escape \x1b[31m", False),
    ("lone \ud800", False),
]
REASON = [("why", True), (" \n why", True), ("", False), (" \n ", False), ("why\x00", False), ("x" * 501, False)]
LABEL = [
    ("L24/09 (b)", True),
    ("Ø-1 日", True),
    ("x" * 100, True),
    ("x" * 101, False),
    ("", False),
    ("   ", False),
    ("a\nb", False),
    ("a\n", False),
    ("a\tb", False),
    ("a\x00", False),
]
PERIOD = [
    ("P1M", True),
    ("P1W", True),
    ("P7D", True),
    ("PT12H", True),
    ("P1Y2M3W4DT5H6M7S", True),
    ("P0D", True),
    ("P99Y999M999W9999DT99999H9999999M999999999S", True),
    ("P", False),
    ("PT", False),
    ("P1MT", False),
    ("1M", False),
    ("P1", False),
    ("P-1M", False),
    ("-P1M", False),
    ("P1.5M", False),
    ("P1H", False),
    ("PT1D", False),
    ("P1D1M", False),
    ("p1m", False),
    ("P1M ", False),
    ("P1M\n", False),
    ("P100Y", False),
    ("P٣M", False),
]
EXPIRY = [
    ("2026-03", True),
    ("2026-03-31", True),
    ("2026-3", False),
    ("2026-13", False),
    ("2026-00", False),
    ("2026-01-32", False),
    ("2026-01-00", False),
    ("2026", False),
    ("03/2026", False),
    ("2026-03\n", False),
]
CLOCK = [("00:00", True), ("23:59", True), ("24:00", False), ("6:00", False), ("06:60", False), ("06:00:00", False)]
ZONE = [("Europe/London", True), ("Etc/GMT+5", True), ("UTC", True), ("", False), ("../etc", False), ("a b", False)]
CURRENCY = [("GBP", True), ("gbp", False), ("GB", False), ("GBPX", False)]
GTIN = [("12345678", True), ("123456789012", True), ("1234567", False), ("123456789", False), ("1234567890123x", False)]
SHA256 = [("a" * 64, True), ("a" * 63, False), ("A" * 64, False), ("g" * 64, False)]
FLOW = [(0, True), (2000, True), (-0.1, False), (2000.1, False), (True, False), ("1", False)]
PERCENT = [(0, True), (100, True), (-1, False), (100.5, False)]
QUANTITY = [(0, True), (1_000_000, True), (1_000_001, False), (-1, False)]
LEVEL = [(0, True), (100, True), (101, False), (-1, False), (1.5, False), (True, False), (2**63, False)]
COUNTER = [(0, True), (2**63 - 1, True), (2**63, False), (-1, False)]

WORDS: dict[str, list[tuple[Any, bool]]] = {
    "Ref": REF,
    "Tag": REF,
    "Text": TEXT,
    "Reason": REASON,
    "Label": LABEL,
    "Period": PERIOD,
    "Expiry": EXPIRY,
    "Clock": CLOCK,
    "Zone": ZONE,
    "Currency": CURRENCY,
    "Gtin": GTIN,
    "Sha256": SHA256,
    "Flow": FLOW,
    "Percent": PERCENT,
    "Quantity": QUANTITY,
    "Level": LEVEL,
    "Counter": COUNTER,
}

CASES = [(name, value, good) for name, cases in WORDS.items() for value, good in cases]


@pytest.mark.parametrize(("name", "value", "good"), CASES)
def test_a_word_takes_what_it_means_and_nothing_else(name: str, value: Any, good: bool) -> None:
    """Converted as the decoder does."""
    word = getattr(words, name)
    if good:
        assert msgspec.convert(value, word) == value
    else:
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(value, word)


@pytest.mark.parametrize("text", [text for text, good in PERIOD if good])
def test_every_period_an_event_may_carry_can_be_reckoned_with(text: str) -> None:
    """What the pattern takes, the calendar's arithmetic parses too."""
    assert str(Period.parse(text)) == text


@pytest.mark.parametrize(
    ("expiry", "day"),
    [
        ("2026-03", date(2026, 3, 31)),
        ("2026-04", date(2026, 4, 30)),
        ("2026-12", date(2026, 12, 31)),
        ("2028-02", date(2028, 2, 29)),
        ("2100-02", date(2100, 2, 28)),
        ("2026-03-07", date(2026, 3, 7)),
    ],
)
def test_a_month_expires_on_its_last_day_and_a_day_on_itself(expiry: str, day: date) -> None:
    """The month of an expiry is good to its end: "2026-03" to 31 March (design 4)."""
    assert words.expiry_day(expiry) == day


def test_an_expiry_on_a_day_no_calendar_has_is_an_error() -> None:
    """30 February."""
    with pytest.raises(ValueError, match="day"):
        words.expiry_day("2026-02-30")


def test_every_pattern_has_a_phrase() -> None:
    """A sender is told in words what a pattern asks for."""
    patterns = {value for name, value in vars(words).items() if name.endswith("_PATTERN")}
    assert patterns == set(words.PHRASES)
