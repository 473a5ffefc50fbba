"""What handlers know of a request beside its text."""

from collections.abc import Mapping
from typing import Any, TypeAlias, cast

from litestar import Request
from litestar.connection import ASGIConnection
from litestar.datastructures import State

from service.domain.caller import Caller
from service.http.keyring import Keyring
from service.ledger import Ledger
from service.outbound.epcis.names import Names, names
from service.pushing.dispatcher import Dispatcher

Asked: TypeAlias = Request[None, Caller, State]
Connection: TypeAlias = ASGIConnection[Any, Any, Any, Any]


def ledger_of(request: Connection) -> Ledger:
    """Give what the service works with."""
    return cast("Ledger", request.app.state.ledger)


def keyring_of(request: Connection) -> Keyring:
    """Give the keys that were found of late."""
    return cast("Keyring", request.app.state.keyring)


def dispatcher_of(request: Connection) -> Dispatcher:
    """Give what sends the events of webhooks."""
    return cast("Dispatcher", request.app.state.dispatcher)


def label_address_of(request: Connection) -> str | None:
    """Give what the codes of labels begin with; None where the operator set nothing."""
    return cast("str | None", request.app.state.label_address)


def names_of(request: Asked) -> Names:
    """Name the things of the organisation that asks, as its labels do."""
    return names(label_address_of(request), request.auth.organisation)


def note(request: Connection, facts: Mapping[str, str | int]) -> None:
    """Add to the request's line in the log: what it did, in words and numbers that name no person."""
    noted = request.scope["state"].setdefault("noted", {})
    noted.update(facts)


def list_field(request: Connection, name: str) -> str | None:
    """Give a header that is a list: lines of one name are one list (RFC 9110 section 5.3). None where there is none."""
    lines = request.headers.getall(name, [])
    return ", ".join(lines) if lines else None
