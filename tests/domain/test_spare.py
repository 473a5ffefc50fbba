"""Spare stock that a recall speaks of, as it was counted, came, went and was fitted."""

from datetime import datetime
from typing import Any

import msgspec
import pytest

from service.domain.codec import decode
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.spare import spares
from tests.oracle.firm import part, tell
from tests.oracle.posting import Posted, moment, say

LOT = {"item": "p3", "lot": "L-9"}


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


def left(posted: list[Posted], *criteria: dict[str, Any]) -> list[tuple[str, str | None, float, bool]]:
    """Give the site, the lot, how much is left and whether it is certain."""
    told: list[tuple[datetime, Any]] = []
    for number, one in enumerate(posted, 1):
        message = {"id": f"01900000-0000-7000-8000-{number:012x}", **one.message}
        told.append((moment(message["occurred_at"]), decode(msgspec.json.encode(message))))
    given = [msgspec.convert(one, Criterion) for one in criteria or [LOT]]
    return [(one.site, one.lot, one.quantity, one.certain) for one in spares(told, given)]


@pytest.mark.parametrize(
    ("posted", "found"),
    [
        ([stock("received", 8, 40)], [("dock", "L-9", 40, True)]),
        ([stock("received", 8, 40), stock("received", 9, 2, lot=" l-009 ")], [("dock", " l-009 ", 42, True)]),
        ([stock("received", 8, 40), stock("counted", 9, 7), stock("discarded", 10, 2, reason="wet")],
         [("dock", "L-9", 5, True)]),
        ([stock("counted", 9, 7), stock("received", 9, 40)], [("dock", "L-9", 7, True)]),
        ([stock("received", 8, 4), stock("moved", 9, 3, to_site="works")],
         [("dock", "L-9", 1, True), ("works", "L-9", 3, True)]),
        ([stock("received", 8, 4), fitted(9, lot="l-9"), fitted(10, "repaired", lot="L-9")],
         [("dock", "L-9", 2, True)]),
        ([stock("received", 8, 4), fitted(9, lot="L-9", condition="refitted")], [("dock", "L-9", 4, True)]),
        ([stock("received", 8, 1), fitted(9, lot="L-9")], []),
        ([stock("received", 8, 4, lot="L-8")], []),
        ([stock("received", 8, 4, item="tube")], []),
        ([stock("received", 8, 4, lot=None)], [("dock", None, 4, False)]),
    ],
)  # fmt: skip
def test_what_is_left(posted: list[Posted], found: list[Any]) -> None:
    """A count stands for all before it; the rest is added and taken off; without a lot it may be of any."""
    assert left(posted) == found


@pytest.mark.parametrize(
    ("criteria", "found"),
    [
        ({"item": "p3", "expires_to": "2028-12-31"}, [("dock", "L-9", 4, True)]),
        ({"item": "p3", "expires_to": "2027-12-31"}, []),
        ({"item": "p3", "model": "hood"}, [("dock", "L-9", 4, True)]),
        ({"item": "p3", "serials": ["S-1"]}, [("dock", "L-9", 4, False)]),
        ({"item": "p3", "received_from": "2026-01-01"}, [("dock", "L-9", 4, False)]),
        ({"model": "hood"}, []),
    ],
)
def test_which_stock_is_meant(criteria: dict[str, Any], found: list[Any]) -> None:
    """Its expiry is known; serial numbers and the day it came are not held against it; units are no stock."""
    assert left([stock("received", 8, 4, expires="2028-05")], criteria) == found


def test_what_is_fitted_nowhere_in_particular_is_taken_off_nothing() -> None:
    """A change that names no site, and one that only empties a position."""
    nowhere = fitted(9, lot="L-9")
    nowhere.message.pop("site")
    emptied = tell("part-replaced", "2026-03-02 10:00", site="dock", position="particle-filter", reason="damage")
    assert left([stock("received", 8, 4), nowhere, emptied]) == [("dock", "L-9", 4, True)]
