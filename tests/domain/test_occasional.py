"""Which units are of occasional use at a moment, and by which event."""

from datetime import datetime
from typing import Any

import pytest

from service.domain.context import world_of
from service.domain.event import AssetEvent
from service.domain.kinds.voided import Voided
from service.domain.occasional import BEARS_ON_USE, occasional
from tests.domain.folding import keys, recorded
from tests.domain.units import at
from tests.oracle.firm import PLAIN, register, tell
from tests.oracle.posting import Posted, log, say

Said = tuple[str, str, datetime]


def use_set(hours: float, label: str, use: str = "occasional", **fields: Any) -> Posted:
    """Set the use of A-1 so many hours after noon of 2 March."""
    given: dict[str, Any] = {"authorised_by": "m-1", "reason": "shutdowns", "label": label} | fields
    return tell("use-set", at(hours).isoformat(), use=use, **given)


def found(hours: float, *posted: Posted) -> list[Said]:
    """Name the units of occasional use, the label of what said so and since when it bites."""
    every = [*PLAIN, register(), *posted]
    records = log(every)
    labels = {record.id: one.label for record, one in zip(records, every, strict=True)}
    rows = recorded(records)
    world = world_of((row for row in rows if not isinstance(row.event, AssetEvent | Voided)), keys(records))
    mine = [row for row in rows if row.event.kind in BEARS_ON_USE]
    return [(one.unit.tag, labels[str(one.event.id)], one.since) for one in occasional(mine, at(hours), world)]


FIRST = use_set(0, "first")
BITES = at(1 / 60)
"""A minute after its moment it is received."""


@pytest.mark.parametrize(
    ("hours", "posted", "told"),
    [
        (0, [FIRST], []),
        (1 / 60, [FIRST], [("A-1", "first", BITES)]),
        (9, [FIRST, use_set(5, "second", "routine")], []),
        (4, [FIRST, use_set(5, "second", "routine")], [("A-1", "first", BITES)]),
        (9, [FIRST, use_set(5, "second")], [("A-1", "second", at(5 + 1 / 60))]),
        (5, [FIRST, use_set(5, "second")], [("A-1", "first", BITES)]),
        (9, [FIRST, use_set(-5, "second", received=at(7).isoformat())], [("A-1", "first", BITES)]),
        (9, [use_set(-5, "second", received=at(7).isoformat())], [("A-1", "second", at(7))]),
        (6, [use_set(-5, "second", received=at(7).isoformat())], []),
        (9, [FIRST, use_set(5, "second", key="kiosk-1", role="site-app")], [("A-1", "first", BITES)]),
        (9, [FIRST, tell("retired", at(5).isoformat(), reason="lost")], []),
        (9, [FIRST, tell("retagged", at(5).isoformat(), new_tag="B-1")], [("B-1", "first", BITES)]),
        (9, [FIRST, register(at(5).isoformat(), fitted_to="A-9", id="0198c1f2-7a10-7c3e-9b55-000000000fff")], []),
        (-9999, [FIRST], []),
    ],
    ids=[
        "not before its receipt",
        "from its receipt",
        "until another use is set",
        "as long as none is",
        "by the newest",
        "by the one before until then",
        "not by one that was overtaken",
        "late, from its receipt",
        "late, not before its receipt",
        "by nobody without authority",
        "not once it is retired",
        "under its new tag",
        "not as a component",
        "not before it was registered",
    ],
)
def test_a_unit_is_of_occasional_use(hours: float, posted: list[Posted], told: list[Said]) -> None:
    """As long as what said so bites, which is not before its receipt (R50)."""
    assert found(hours, *posted) == told


def test_what_was_voided_says_nothing() -> None:
    """A setting that was taken back never happened."""
    assert found(9, FIRST, say("voided", at(5).isoformat(), "p-2", event="@first", reason="slip")) == []
