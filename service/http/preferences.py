"""What a sender says about its message in headers: its clock (`Date`) and its preferences (`Prefer`, RFC 7240)."""

from datetime import UTC, datetime
from email.utils import parsedate_to_datetime

from service.domain.errors import BadParameter, Forbidden
from service.http.request import Asked, list_field

IMPORT = "import"
STRICT = "handling=strict"


def sent_at(request: Asked) -> datetime | None:
    """Read the sender's clock from `Date` (RFC 9110 section 6.6.1), to the second. Raises BadParameter."""
    text = request.headers.get("date")
    if text is None:
        return None
    try:
        moment = parsedate_to_datetime(text)
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        detail = "Expected a date of HTTP, such as Sun, 06 Nov 1994 08:49:37 GMT."
        raise BadParameter("Date", detail) from error


def imported(request: Asked) -> bool:
    """Say whether an administrator brings in records of the past, whose lateness says nothing of a clock (R8).

    Raises Forbidden for any other role, and BadParameter for strict handling, on which a sender relies: better told
    that there is none than left to think that it was guarded. Other preferences may be ignored (RFC 7240 section 2).
    """
    preferences = {text.strip().lower() for text in (list_field(request, "prefer") or "").split(",")}
    if STRICT in {preference.replace(" ", "").replace('"', "") for preference in preferences}:
        detail = "Strict handling is not served: leave it out and look at 'conflicts' in the answer."
        raise BadParameter("Prefer", detail)
    if IMPORT in preferences and request.auth.role != "administrator":
        detail = "Only a key of role 'administrator' may send 'Prefer: import'."
        raise Forbidden(detail)
    return IMPORT in preferences
