"""What a sender says about its message in headers: its clock (`Date`) and its preferences (`Prefer`, RFC 7240)."""

import re
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import NamedTuple

from service.domain.errors import BadParameter, Forbidden
from service.domain.words import FIRST_YEAR, LAST_YEAR
from service.http.request import Asked, list_field

DATE = "Date"
PREFER = "Prefer"
SPACE = r"[ \t]*"
NAME = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"
WORD = rf'(?:{NAME}|"(?:[^"\\]|\\.)*")'
PARAMETER = rf"{NAME}(?:{SPACE}={SPACE}{WORD})?"
PREFERENCE = re.compile(
    rf"{SPACE}(?:(?P<name>{NAME})(?:{SPACE}={SPACE}(?P<value>{WORD}))?(?:{SPACE};(?:{SPACE}{PARAMETER})?)*)?"
    rf"{SPACE}(?:,|\Z)"
)
"""One preference and the comma after it; a list may have empty places (RFC 7240 section 2, RFC 9110 section 5.6)."""


def sent_at(request: Asked) -> datetime | None:
    """Read the sender's clock from `Date` (RFC 9110 section 6.6.1), to the second. Raises BadParameter."""
    text = request.headers.get("date")
    if text is None:
        return None
    try:
        moment = parsedate_to_datetime(text)
        moment = moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        detail = "Expected a date of HTTP, such as Sun, 06 Nov 1994 08:49:37 GMT."
        raise BadParameter(DATE, detail) from error
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise BadParameter(DATE, f"The year must be {FIRST_YEAR} to {LAST_YEAR}.")
    return moment


class Handling(NamedTuple):
    """How a sender wants its messages taken.

    `imported`: an administrator brings in records of the past, whose lateness says nothing of a clock (R8). `strict`:
    what contradicts the history is not to be recorded, bad news excepted (design 3.7).
    """

    imported: bool
    strict: bool


def handling(request: Asked) -> Handling:
    """Read what the sender prefers, and have the answer say that it is applied (RFC 7240 section 3).

    Raises Forbidden for an import by any role but an administrator's. Other preferences may be ignored (section 2).
    """
    preferred = preferences(list_field(request, PREFER) or "")
    found = Handling(preferred.get("import") == "", preferred.get("handling", "").lower() == "strict")
    if found.imported and request.auth.role != "administrator":
        detail = "Only a key of role 'administrator' may send 'Prefer: import'."
        raise Forbidden(detail)
    applied = [name for name, asked in (("import", found.imported), ("handling=strict", found.strict)) if asked]
    if applied:
        request.scope["state"].setdefault("headers", {})["Preference-Applied"] = ", ".join(applied)
    return found


def preferences(text: str) -> dict[str, str]:
    """Read preferences and their values by name, "" for none (RFC 7240 section 2). Raises BadParameter.

    Of a preference that is said more than once the first counts. Parameters are read over: none means anything here.
    """
    found: dict[str, str] = {}
    place = 0
    while place < len(text):
        read = PREFERENCE.match(text, place)
        if read is None:
            detail = 'Expected preferences such as import, or wait=10; name="value", with commas between them.'
            raise BadParameter(PREFER, detail)
        if read["name"]:
            found.setdefault(read["name"].lower(), _value(read["value"] or ""))
        place = read.end()
    return found


def _value(word: str) -> str:
    """Give what a word says, without the quotes and backslashes of a quoted string (RFC 9110 section 5.6.4)."""
    return re.sub(r"\\(.)", r"\1", word[1:-1]) if word.startswith('"') else word
