"""Numbers and days as documents and tables write them, to the texts that their fields are read from."""

import re
from decimal import Decimal
from typing import Final

from service.domain.money import plain
from service.outbound.ubl.table import Form

NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
"""A decimal number of XML Schema, which knows no exponent."""
DAY: Final = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:Z|[+-](?:(?:0[0-9]|1[0-3]):[0-5][0-9]|14:00))?")
"""A date of XML Schema: one with an offset (14 hours at most) is the day that is written, wherever it is read."""
LONGEST: Final = 40
"""Characters of a number."""


def meant(text: str, form: Form) -> str | None:
    """Give what a text says, written plainly; None where it is not of its form."""
    if form == "day":
        day = DAY.fullmatch(text)
        return day[1] if day else None
    if form == "text":
        return text
    if len(text) > LONGEST or not NUMBER.fullmatch(text):
        return None
    return plain(Decimal(text))


def sentence(form: Form) -> str:
    """Say what a text of a form looks like."""
    return "must be a day such as 2026-03-02" if form == "day" else "must be a number such as 12 or 18.40, with a point"
