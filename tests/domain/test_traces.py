"""The traces that events leave, by which the units are found that a recall may reach."""

from typing import Any

import msgspec
import pytest

from service.domain.codec import decode
from service.domain.event import Event
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.traces import MOST_POSITIONS, beginnings, listed, matched, traces
from tests.domain.units import world
from tests.oracle.firm import part, register, tell
from tests.oracle.posting import Posted

MODELS = listed(world().rulebook)
FILTER = {"position": "particle-filter", "part": part("p3", lot="L-9", serial="S-7", expires="2027-03")}
PART = 'part:p3:["L-9","S-7","2027-03"]'
BARE = 'unit:hood:["S-A-1",null,null,[]]'


def event(posted: Posted) -> Event:
    """Read a message."""
    return decode(msgspec.json.encode({"id": "01900000-0000-7000-8000-000000000001", **posted.message}))


def criteria(*given: dict[str, Any]) -> list[Criterion]:
    """Make criteria."""
    return [msgspec.convert(one, Criterion) for one in given]


def swapped(kind: str, **fields: Any) -> Posted:
    """Change a filter, or take it out."""
    return tell(kind, "2026-03-02 10:00", position="particle-filter", **fields)


@pytest.mark.parametrize(
    ("posted", "left"),
    [
        (swapped("part-replaced", in_=FILTER["part"], reason="schedule"), [PART]),
        (swapped("filter-replaced", in_=FILTER["part"], reason="schedule"), [PART]),
        (swapped("part-replaced", out={"item": "p3"}, reason="schedule"), []),
        (swapped("part-identified", part=part("tube")), ["part:tube:[null,null,null]"]),
        (tell("repaired", "2026-03-02 10:00", work=["fan"], parts=[FILTER]), [PART]),
        (tell("returned", "2026-03-02 10:00"), []),
        (register(), [BARE]),
        (
            register(parts=[FILTER], made_on="2025-03-01", acquired_on="2025-07-01"),
            [PART, 'unit:hood:["S-A-1","2025-03-01","2025-07-01",["particle-filter"]]'],
        ),
    ],
)
def test_what_an_event_leaves(posted: Posted, left: list[str]) -> None:
    """Every part that came in or was found, and every registration with the positions it tells of."""
    assert list(traces(event(posted))) == left


def test_a_registration_with_very_many_parts_is_traced_as_if_it_told_of_none() -> None:
    """An entry of an index has its bounds."""
    parts = [{"position": f"p-{number}", "part": part("p3")} for number in range(MOST_POSITIONS + 1)]
    assert list(traces(event(register(parts=parts[:-1]))))[-1].count("p-") == MOST_POSITIONS
    assert list(traces(event(register(parts=parts))))[-1] == BARE


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"item": "p3"}, {"part:p3:", "unit:hood:"}),
        ({"item": "abek"}, {"part:abek:", "unit:mask:"}),
        ({"item": "abek", "model": "hood"}, {"part:abek:"}),
        ({"item": "no-such-item"}, {"part:no-such-item:"}),
        ({"lot": "L-9"}, {"part:", "unit:hood:", "unit:mask:"}),
        ({"model": "pack"}, {"unit:pack:"}),
        ({"serials": ["S-1"]}, {"unit:"}),
    ],
)
def test_where_to_look(given: dict[str, Any], found: set[str]) -> None:
    """At the traces of the item, of units that may hold it untold, or of units."""
    assert beginnings(criteria(given), MODELS) == found


@pytest.mark.parametrize(
    ("given", "trace", "found"),
    [
        ({"item": "p3", "lot": "L-9"}, PART, True),
        ({"item": "p3", "lot": "L-8"}, PART, False),
        ({"item": "p3", "serials": ["S-8"]}, PART, False),
        ({"item": "p3", "expires_from": "2027-04-01"}, PART, False),
        ({"item": "p3", "lot": "L-8"}, "part:p3:[null,null,null]", True),
        ({"item": "p3", "model": "mask"}, PART, True),
        ({"item": "tube"}, PART, False),
        ({"model": "hood"}, PART, False),
        ({"item": "p3"}, BARE, True),
        ({"item": "p3"}, 'unit:hood:["S-A-1",null,null,["particle-filter"]]', False),
        ({"item": "tube"}, 'unit:hood:["S-A-1",null,null,["particle-filter"]]', True),
        ({"item": "abek"}, BARE, False),
        ({"item": "p3"}, 'unit:no-such-model:["S-A-1",null,null,[]]', False),
        ({"model": "hood"}, BARE, True),
        ({"model": "mask"}, BARE, False),
        ({"serials": ["s-a-01"]}, BARE, True),
        ({"serials": ["S-A-2"]}, BARE, False),
        ({"made_from": "2025-03-02"}, BARE, True),
        ({"made_from": "2025-03-02"}, 'unit:hood:["S-A-1","2025-03-01",null,[]]', False),
        ({"received_to": "2025-03-02"}, 'unit:hood:["S-A-1",null,"2025-03-03",[]]', False),
    ],
)
def test_which_traces_match(given: dict[str, Any], trace: str, *, found: bool) -> None:
    """All that may be affected, and little else: of the unit of a part nothing is traced."""
    assert matched(criteria(given), trace, MODELS) is found
    assert matched(criteria({"item": "no-such-item"}, given), trace, MODELS) is found
