"""Read your write: `Ledger-Position` in the answer to what was recorded, and in a question that must not be older.

A position is a seq. A reader that sends one is answered by a database that holds the log up to it, whichever process
or replica that is, or told with 503 that it has not arrived there. The header is this service's own.
"""

import re
from collections.abc import Iterable
from typing import Any, Final

from litestar.handlers import HTTPRouteHandler

from service.domain.errors import BadParameter, PositionNotReached
from service.http.request import Asked, ledger_of, list_field
from service.record import Receipt

HEADER: Final = "Ledger-Position"
PATIENCE: Final = 2.0
"""Seconds that a position is waited for."""
SEQ: Final = re.compile(r"[0-9]{1,18}")
DEMAND: Final[dict[str, Any]] = {
    "name": HEADER,
    "in": "header",
    "required": False,
    "description": "The answer must hold the log up to this position at least: that of your last write.",
    "schema": {"type": "integer", "format": "int64", "minimum": 0, "maximum": 10**18 - 1, "examples": [48211]},
}


def is_reading(route: HTTPRouteHandler) -> bool:
    """Say whether a route answers a question, be it one that is posted."""
    return "GET" in route.http_methods or "reads" in route.opt


async def demand_position(request: Asked) -> None:
    """Wait until the position that a reader demands is here. Raises BadParameter, and PositionNotReached."""
    text = list_field(request, HEADER.lower())
    if text is None or not is_reading(request.route_handler) or "auth" not in request.scope:
        return
    if not SEQ.fullmatch(text):
        raise BadParameter(HEADER, f"Send the {HEADER} of an answer as it came: a whole number.")
    ledger, organisation = ledger_of(request), request.auth.organisation
    if not await ledger.heads.reach(ledger.pool, organisation, int(text), PATIENCE):
        raise PositionNotReached(int(text))


def position_of(receipts: Iterable[Receipt]) -> dict[str, str]:
    """Give the header that tells from which position on all of these can be read; none if none was recorded."""
    newest = max((receipt.seq for receipt in receipts if receipt.seq is not None), default=None)
    return {} if newest is None else {HEADER: str(newest)}
