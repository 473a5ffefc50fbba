"""The headers that routes read, as the description of the interface tells them."""

from typing import Any, Final

from service.domain.errors import BadParameter
from service.http.request import Asked, list_field

LONGEST: Final = 1000
"""Characters that a header may have which a route reads; none that says something needs so many."""


SINGLE: Final = ("Authorization", "Content-Type", "Date", "Idempotency-Key", "Last-Event-ID", "Ledger-Position")
"""The headers that routes read and that say one thing: a second line is no part of a list (RFC 9110 section 5.3)."""


def refuse_doubled_lines(request: Asked) -> None:
    """Refuse a second line of a header that says one thing, lest one of them be believed. Raises BadParameter."""
    for name in SINGLE:
        if len(request.headers.getall(name.lower(), [])) > 1:
            raise BadParameter(name, f"Send one line {name!r}: two may say different things.")


def refuse_long_heads(request: Asked) -> None:
    """Refuse headers too long to say anything that the route reads. Raises BadParameter."""
    for told in request.route_handler.opt.get("heads", ()):
        if len(list_field(request, told["name"]) or "") > LONGEST:
            raise BadParameter(told["name"], f"A header may have {LONGEST} characters here.")


def head(name: str, description: str, example: str) -> dict[str, Any]:
    """Describe one header of a request."""
    text = {"type": "string", "maxLength": LONGEST, "examples": [example]}
    return {"name": name, "in": "header", "required": False, "description": description, "schema": text}


DATE = head("Date", "The sender's clock when it sent the message.", "Sun, 06 Nov 1994 08:49:37 GMT")
PREFER = head(
    "Prefer",
    "`handling=strict`: an event that contradicts the history is a 409 and leaves nothing, bad news excepted; screens "
    "that issue should ask so. `import`: an administrator brings in records of the past.",
    "handling=strict",
)
IDEMPOTENCY_KEY = head(
    "Idempotency-Key",
    "A name of the sender's for this request, in quotes: sent again within seven days with the same body, it is "
    "answered with the same bytes. A draft still (draft-ietf-httpapi-idempotency-key-header-07); not for lines.",
    '"8e03978e-40d5-43e8-bc93-6894a57f9324"',
)
IF_MATCH = head("If-Match", "A change: the ETag of the version that it starts from; `*`, there must be one.", '"48211"')
UNLESS = head("If-None-Match", "A change: `*`, there must be no version yet; an ETag, there must not be that one.", "*")
IF_STILL = head("If-Match", "A read: the ETag of what is to be read still; `*`, there must be anything.", '"48211"')
IF_NONE_MATCH = head("If-None-Match", "A read: the ETag of the version that is known already.", '"48211"')
