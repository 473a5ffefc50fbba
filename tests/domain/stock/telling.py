"""What is told of stock in tests: of filter p3 at the dock, on one day, hour by hour."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

import msgspec

from service.domain.codec import decode
from service.domain.stock.changes import Change, changes_of
from service.domain.stock.ledger import Account, account
from tests.oracle.firm import part, tell
from tests.oracle.posting import Posted, moment, say

UNITS = {"p3": "C62"}


def stock(kind: str, hour: int, quantity: float, **fields: Any) -> Posted:
    """Tell of stock at the dock."""
    given = {"site": "dock", "item": "p3", "unit": "C62", "lot": "L-9"} | fields
    return say(f"stock-{kind}", f"2026-03-02 {hour:02d}:00", quantity=quantity, **given)


def fitted(hour: int, kind: str = "filter-replaced", **fields: Any) -> Posted:
    """Put a filter in."""
    if kind == "repaired":
        placed = [{"position": "particle-filter", "part": part("p3", **fields)}]
        return tell(kind, f"2026-03-02 {hour:02d}:00", site="dock", work=["filter"], parts=placed)
    new: dict[str, Any] = {"in": part("p3", **fields)}
    return tell(kind, f"2026-03-02 {hour:02d}:00", site="dock", position="particle-filter", reason="loading", **new)


def written(one: Posted, number: int = 1) -> bytes:
    """Write an event as it is sent."""
    return msgspec.json.encode({"id": f"01900000-0000-7000-8000-{number:012x}", **one.message})


def read(posted: Iterable[Posted]) -> list[tuple[datetime, Any]]:
    """Read events, each with its instant."""
    numbered = enumerate(posted, 1)
    return [(moment(one.message["occurred_at"]), decode(written(one, number))) for number, one in numbered]


def changes(posted: Iterable[Posted], site: str = "dock") -> list[Change]:
    """Give what events say of p3 at a site."""
    every = [change for at, event in read(posted) for change in changes_of(at, event, UNITS)]
    return [change for change in every if (change.site, change.item) == (site, "p3")]


def books(posted: Iterable[Posted], site: str = "dock") -> Account:
    """Give the ledger of p3 at a site."""
    return account(changes(posted, site))


def balances(posted: Iterable[Posted], site: str = "dock") -> list[tuple[str, int, int]]:
    """Give of each entry what it was, what it changed, and the balance after it."""
    return [(one.what, int(one.change), int(one.balance)) for one in books(posted, site).entries]


def left(posted: Iterable[Posted], site: str = "dock") -> list[tuple[str | None, str | None, int]]:
    """Give of each line its lot, its expiry and how much is left."""
    return [(one.lot, one.expires, int(one.quantity)) for one in books(posted, site).lines]
