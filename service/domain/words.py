r"""The words of events: references, text, numbers and dates, each with its bounds.

Only types, their bounds and the phrase that explains a pattern may live here. Bounds are what is physically possible;
what is merely implausible is accepted and proves nothing.

A pattern ends in `$(?!\n)`, because Python's `$` alone lets a last newline through and `\Z` means nothing to other
readers of the JSON schema. It writes `[0-9]`, because `\d` takes the digits of every script.
"""

import re
from calendar import monthrange
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Final, Literal

from msgspec import Meta

MANY: Final = 100
"""The most entries a list or an object of an event may have."""

MOST_QUANTITY: Final = 1_000_000
"""Of an item, in its unit."""

FIRST_YEAR: Final = 1900
LAST_YEAR: Final = 2200

_CONTROL: Final = r"\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff"
UNSEEN: Final = (
    r"\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u202a-\u202e\u2060-\u206f\u3164\ufe00-\ufe0f"
    r"\ufeff\uffa0\ufff0-\ufff8"
)
"""What nobody sees on a page (Unicode: what is ignored by default, of its first plane): it says nothing."""
_END: Final = r"$(?!\n)"

REF_PATTERN: Final = r"^[A-Za-z0-9._-]{1,40}" + _END
TEXT_PATTERN: Final = rf"^[^{_CONTROL}]*$"
REASON_PATTERN: Final = rf"^(?=[\s\S]*[^\s{UNSEEN}])[^{_CONTROL}]+$"
ADDRESS_PATTERN: Final = rf"^(?=[\s\S]*\S)[^{_CONTROL}]+$"
"""Stays in the log, so it asks no more than it ever did."""
LABEL_PATTERN: Final = rf"^(?=.*\S)[^\n\r\t{_CONTROL}]+" + _END
EXPIRY_PATTERN: Final = r"^[0-9]{4}-(0[1-9]|1[0-2])(-(0[1-9]|[12][0-9]|3[01]))?" + _END
PERIOD_PATTERN: Final = (
    r"^P(?=[0-9T])([0-9]{1,2}Y)?([0-9]{1,3}M)?([0-9]{1,3}W)?([0-9]{1,4}D)?"
    r"(T(?=[0-9])([0-9]{1,5}H)?([0-9]{1,7}M)?([0-9]{1,9}S)?)?" + _END
)
CLOCK_PATTERN: Final = r"^([01][0-9]|2[0-3]):[0-5][0-9]" + _END
ZONE_PATTERN: Final = r"^[A-Za-z][A-Za-z0-9_+/-]{0,63}" + _END
CURRENCY_PATTERN: Final = r"^[A-Z]{3}" + _END
GTIN_PATTERN: Final = r"^([0-9]{8}|[0-9]{12,14})" + _END
SHA256_PATTERN: Final = r"^[0-9a-f]{64}" + _END

SUBJECTS: Final = (
    *("asset", "person", "item", "site", "model", "task", "policy", "instrument"),
    *("event", "order", "proposal", "recall"),
)
"""What events are filed under, but for the rows of reports, whose names are of any form."""
SUBJECT_PATTERN: Final = rf"^({'|'.join(SUBJECTS)}):[A-Za-z0-9._-]+" + _END

MOST_TAGS: Final = 100
TAGS_PATTERN: Final = r"^[A-Za-z0-9._-]{1,40}(,[A-Za-z0-9._-]{1,40}){0,99}" + _END
"""Tags joined by commas."""

PHRASES: Final = {
    REF_PATTERN: "a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -",
    TAGS_PATTERN: f"tags joined by commas, at most {MOST_TAGS}: each 1 to 40 of the characters A-Z a-z 0-9 . _ -",
    TEXT_PATTERN: "text without control characters",
    REASON_PATTERN: "text that says something, without control characters",
    ADDRESS_PATTERN: "text that says something, without control characters",
    LABEL_PATTERN: "one line of text that says something, without control characters",
    EXPIRY_PATTERN: "a month (2026-03) or a day (2026-03-31)",
    PERIOD_PATTERN: "an ISO 8601 period such as P1M, P1W, P7D or PT12H",
    CLOCK_PATTERN: "a time of day such as 06:00",
    ZONE_PATTERN: "the name of a time zone such as Europe/London",
    CURRENCY_PATTERN: "a currency: three capital letters (ISO 4217)",
    GTIN_PATTERN: "a GTIN: 8, 12, 13 or 14 digits",
    SHA256_PATTERN: "a SHA-256 sum: 64 digits 0-9 a-f",
    SUBJECT_PATTERN: f"a sort and a name, such as asset:FX-0142; the sorts are {', '.join(SUBJECTS)}",
}
"""What each pattern asks for, in words a sender can act on."""

Instant = Annotated[datetime, Meta(tz=True)]
Ref = Annotated[str, Meta(pattern=REF_PATTERN)]
Tag = Annotated[str, Meta(pattern=REF_PATTERN)]
Subject = Annotated[str, Meta(max_length=100, pattern=SUBJECT_PATTERN)]

Text = Annotated[str, Meta(max_length=500, pattern=TEXT_PATTERN)]
"""Free text, may be empty. Every field of this type is kept out of the log."""
Reason = Annotated[str, Meta(max_length=500, pattern=REASON_PATTERN)]
"""Free text that must say something. Every field of this type is kept out of the log."""
Label = Annotated[str, Meta(max_length=100, pattern=LABEL_PATTERN)]
"""A name, serial, lot or number as printed on a thing or paper: one line, any script. Stays in the log."""
Address = Annotated[str, Meta(max_length=300, pattern=ADDRESS_PATTERN)]

Flow = Annotated[float, Meta(ge=0, le=2000)]
"""Litres per minute."""
Percent = Annotated[float, Meta(ge=0, le=100)]
Level = Annotated[int, Meta(ge=0, le=100)]
"""A step of a loading indicator, 0 = clean."""
Quantity = Annotated[float, Meta(ge=0, le=MOST_QUANTITY)]
Fraction = Annotated[float, Meta(ge=0, le=1)]
Bar = Annotated[float, Meta(ge=0, le=1000)]
Days = Annotated[int, Meta(ge=0, le=36_500)]
Months = Annotated[int, Meta(ge=0, le=1200)]
Concentration = Annotated[float, Meta(ge=0, le=1_000_000_000)]
Factor = Annotated[float, Meta(ge=0, le=10_000_000)]
Counter = Annotated[int, Meta(ge=0, le=2**63 - 1)]

Expiry = Annotated[str, Meta(pattern=EXPIRY_PATTERN, extra={"check": "expiry"})]
"""A month, meaning its last day, or a day."""
Amount = Annotated[Decimal, Meta(extra={"check": "amount"})]
"""Money, as a JSON string or number; read exactly, written as a string."""
Gtin = Annotated[str, Meta(pattern=GTIN_PATTERN, extra={"check": "gtin"})]
Period = Annotated[str, Meta(pattern=PERIOD_PATTERN)]
Clock = Annotated[str, Meta(pattern=CLOCK_PATTERN)]
Zone = Annotated[str, Meta(pattern=ZONE_PATTERN)]
Currency = Annotated[str, Meta(pattern=CURRENCY_PATTERN)]
Sha256 = Annotated[str, Meta(pattern=SHA256_PATTERN)]

Refs = Annotated[tuple[Ref, ...], Meta(max_length=MANY)]
Labels = Annotated[tuple[Label, ...], Meta(max_length=MANY)]

Use = Literal["routine", "occasional", "emergency", "escape"]
Fit = Literal["loose", "tight"]
Jurisdiction = Literal["uk", "us", "eu", "au-nz", "ca"]
PointResult = Literal["pass", "fail", "not-applicable"]
Points = Annotated[dict[Ref, PointResult], Meta(max_length=MANY)]
FilterLoading = Level | Annotated[dict[Ref, Level], Meta(max_length=MANY)]
"""The particle filter's level, or an object of levels by position (R52)."""


def expiry_day(expiry: str) -> date:
    """Give the last day of an expiry: "2026-03" is good to 31 March. ValueError for a day no calendar has."""
    return expiry_days(expiry)[1]


def expiry_days(expiry: str) -> tuple[date, date]:
    """Give the first and the last of the days that an expiry may be; of a day both are that."""
    if len(expiry) == len("2026-03"):
        first = date.fromisoformat(f"{expiry}-01")
        return first, first.replace(day=monthrange(first.year, first.month)[1])
    day = date.fromisoformat(expiry)
    return day, day


def says_something(text: str) -> bool:
    """Say whether there is anything in a text that can be seen."""
    return re.search(REASON_PATTERN, text) is not None
