"""Elements of GS1: an application identifier (AI) and its value, with what the standard checks of it by itself.

The identifiers and the formats of their values are those of biip, which checks no digit and knows no day but today's:
both are done here. It takes as long to import as all else that a request needs, so it is imported by the first scan.
"""

import re
from datetime import date
from typing import TYPE_CHECKING

from service.domain.check_digit import is_checked, is_pair_checked
from service.domain.scan.days import is_time, short_day, wrong_part
from service.domain.scan.reading import Element, Unreadable
from service.reference.gs1 import CHECKED, DATES, PAIR_CHECKED, TIMES, WHOLE_DAYS

if TYPE_CHECKING:
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier

LONGEST = 100
"""Characters of the longest element there is, its identifier included, with some to spare (AI 99: 2 and 90)."""

DATE = re.compile("[0-9]{6}")


def first(text: str, today: date) -> tuple[Element, str, bool]:
    """Read the element that a text begins with: the element, what follows, and whether a separator must come first.

    Raises Unreadable.
    """
    from biip import ParseConfig, ParseError
    from biip.gs1_element_strings import GS1ElementString

    known = identifier(text)
    try:
        read = GS1ElementString.extract(text[:LONGEST], config=ParseConfig(gs1_element_strings_verify_date=False))
    except ParseError as error:
        raise unfit(known, text) from error
    return element(known.ai, read.value, known.data_title, today), text[len(read) :], known.separator_required


def only(ai: str, value: str, today: date) -> Element:
    """Read a value that stands by itself. Raises Unreadable."""
    known = identifier(ai)
    if known.ai != ai:
        raise Unreadable(no_such(ai))
    found, rest, _ = first(ai + value, today)
    if rest:
        raise unfit(known, ai + value)
    return found


def identifier(text: str) -> "GS1ApplicationIdentifier":
    """Give the identifier that a text begins with. Raises Unreadable."""
    from biip import ParseError
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier

    try:
        return GS1ApplicationIdentifier.extract(text[:4])
    except ParseError as error:
        raise Unreadable(no_such(text[:4])) from error


def is_identifier(ai: str) -> bool:
    """Say whether there is such an identifier."""
    try:
        return identifier(ai).ai == ai
    except Unreadable:
        return False


def element(ai: str, value: str, title: str, today: date) -> Element:
    """Make an element of a value that has its format. Raises Unreadable for a wrong check digit and for no day."""
    covered = CHECKED.get(ai)
    if covered is not None and not is_checked(value[:covered]):
        message = f"the check digit of ({ai}) is wrong: scan the code again, or look the number up on the package"
        raise Unreadable(message)
    if ai in PAIR_CHECKED and not is_pair_checked(value):
        message = f"the check characters of ({ai}) are wrong: scan the code again"
        raise Unreadable(message)
    return Element(ai, value, title, _day(ai, value, today) if ai in DATES else None)


def _day(ai: str, value: str, today: date) -> date:
    if ai in TIMES and not is_time(value[6:]):
        message = f"({ai}) is no time there is: behind the date it is written HHMM, as 1430"
        raise Unreadable(message)
    try:
        return short_day(value, today, may_be_month=ai not in WHOLE_DAYS)
    except ValueError as error:
        raise Unreadable(no_day(ai, wrong_part(value) or "that month has no such day")) from error


def no_day(ai: str, why: str) -> str:
    """Say what is wrong with a date."""
    return f"({ai}) is no day there is: {why}; it is written YYMMDD, as 290531"


def no_such(ai: str) -> str:
    """Say that there is no such identifier."""
    if not (ai.isascii() and ai.isdecimal()):
        return (
            "an application identifier of GS1 begins with digits, and something else stands where one should be: an "
            "address or other text has no mark of an element string (such as ]Q3) before it"
        )
    return f"no application identifier of GS1 stands where {ai!r} does: send the text as the reader gave it"


def unfit(known: "GS1ApplicationIdentifier", text: str) -> Unreadable:
    """Say that a value has another format than its identifier wants, or which part of a date is wrong."""
    digits = DATE.match(text, len(known.ai))
    if known.ai in DATES and digits is not None and (why := wrong_part(digits[0])) is not None:
        return Unreadable(no_day(known.ai, why))
    wanted = known.format.partition("+")[2]
    return Unreadable(f"what follows ({known.ai}) is not {wanted} ({known.data_title}): scan the code again")
