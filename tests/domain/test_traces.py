"""The traces that events leave, by which the units are found that a recall may reach."""

from collections.abc import Iterable
from typing import Any

import msgspec
import pytest

from service.domain.codec import decode
from service.domain.event import Event
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.traces import (
    MOST_POSITIONS,
    Stretch,
    bare,
    is_trace,
    listed,
    lot_of,
    matched,
    stretches,
    traces,
)
from tests.domain.units import world
from tests.oracle.firm import part, register, tell
from tests.oracle.posting import Posted, say

MODELS = listed(world().rulebook)
FILTER = {"position": "particle-filter", "part": part("p3", lot="L-9", serial="S-7", expires="2027-03")}
PART = 'part:p3:L-00019\t["L-9","S-7","2027-03"]'
HOOD = 'unit:hood:S-A-00011\t["S-A-1",null,null]'
BARE = "bare:hood:[]"
UNKNOWN = ("part:p3:", "part:p3:\n")
FILTERED = 'bare:hood:["particle-filter"]'


def event(posted: Posted) -> Event:
    """Read a message."""
    return decode(msgspec.json.encode({"id": "01900000-0000-7000-8000-000000000001", **posted.message}))


def criteria(*given: dict[str, Any]) -> list[Criterion]:
    """Make criteria."""
    return [msgspec.convert(one, Criterion) for one in given]


def swapped(kind: str, **fields: Any) -> Posted:
    """Change a filter, or take it out."""
    return tell(kind, "2026-03-02 10:00", position="particle-filter", **fields)


def stocked(**fields: Any) -> Posted:
    """Receive stock."""
    return say("stock-received", "2026-03-02 10:00", site="dock", item="p3", quantity=1, unit="C62", **fields)


@pytest.mark.parametrize(
    ("posted", "left"),
    [
        (swapped("part-replaced", in_=FILTER["part"], reason="schedule"), [PART]),
        (swapped("filter-replaced", in_=FILTER["part"], reason="schedule"), [PART]),
        (swapped("part-replaced", out={"item": "p3"}, reason="schedule"), ["part:p3:\t[null,null,null]"]),
        (swapped("part-replaced", out={"lot": "l-010"}, reason="schedule"), ['out::L-000210\t["l-010",null]']),
        (
            swapped("part-replaced", out={"item": "p3", "lot": "l-010"}, reason="schedule"),
            ['part:p3:L-000210\t["l-010",null,null]'],
        ),
        (swapped("part-replaced", out={"serial": "S-7"}, reason="schedule"), ['out::\t[null,"S-7"]']),
        (swapped("part-identified", part=part("tube")), ["part:tube:\t[null,null,null]"]),
        (tell("repaired", "2026-03-02 10:00", work=["fan"], parts=[FILTER]), [PART]),
        (tell("returned", "2026-03-02 10:00"), []),
        (register(), [HOOD, BARE]),
        (
            register(parts=[FILTER], made_on="2025-03-01", acquired_on="2025-07-01"),
            [PART, 'unit:hood:S-A-00011\t["S-A-1","2025-03-01","2025-07-01"]', FILTERED],
        ),
    ],
)
def test_what_an_event_leaves(posted: Posted, left: list[str]) -> None:
    """Every part that came in, was found or was taken out, and every registration with the positions it tells of."""
    assert list(traces(event(posted))) == left
    assert all(map(is_trace, left))


@pytest.mark.parametrize(
    "subject",
    ["asset:part", "lot:L-9", "part-serial:S-7", "event:unit", "stock:p3:L-00019\t", "adrift:p3", "use:occasional", ""],
)
def test_what_else_an_event_is_filed_under_is_no_trace_of_a_unit(subject: str) -> None:
    """Tags, lots and serial numbers that a scan finds, and stock."""
    assert not is_trace(subject)


def test_a_registration_with_very_many_parts_is_traced_as_if_it_told_of_none() -> None:
    """An entry of an index has its bounds."""
    parts = [{"position": f"p-{number}", "part": part("p3")} for number in range(MOST_POSITIONS + 1)]
    assert list(traces(event(register(parts=parts[:-1]))))[-1].count("p-") == MOST_POSITIONS
    assert list(traces(event(register(parts=parts))))[-1] == BARE


@pytest.mark.parametrize(("posted", "left"), [(stocked(lot="l-010"), "L-000210"), (stocked(), "")])
def test_what_an_event_of_stock_leaves(posted: Posted, left: str) -> None:
    """The item and the lot as it is compared."""
    assert list(traces(event(posted))) == [f"stock:p3:{left}\t"]


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"item": "p3"}, [("part:p3:", "part:p3;")]),
        ({"item": "p3", "lot": "l-9"}, [UNKNOWN, ("part:p3:L-00019", "part:p3:L-00019\n")]),
        ({"item": "p3", "lots": ["A", "B"], "lot_from": "B"}, [UNKNOWN, ("part:p3:B", "part:p3:B\n")]),
        ({"item": "p3", "lot_from": "B", "lot_to": "A"}, [UNKNOWN, ("part:p3:A", "part:p3:B\n")]),
        ({"item": "p3", "lot_from": "B"}, [UNKNOWN, ("part:p3:B", "part:p3;")]),
        ({"item": "p3", "lot_to": "B"}, [UNKNOWN, ("part:p3:", "part:p3:B\n")]),
        ({"expires_to": "2027-01-01"}, [("part:p3:", "part:p3;"), ("part:tube:", "part:tube;")]),
        ({"model": "pack"}, [("unit:pack:", "unit:pack;")]),
        ({"serials": ["B"]}, [("unit:hood:B", "unit:hood:B\n"), ("unit:mask:B", "unit:mask:B\n")]),
        ({"model": "hood", "serial_to": "B"}, [("unit:hood:", "unit:hood:B\n")]),
    ],
)
def test_where_to_look(given: dict[str, Any], found: list[tuple[str, str]]) -> None:
    """At the traces of the lots named and of unknown ones, of every item if none is named; or of units, by serial."""
    every = looked_at(given)
    assert {one for one in every if not one[0].startswith("out:")} == set(found)


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"item": "p3"}, []),
        ({"model": "pack", "serials": ["B"]}, []),
        ({"item": "p3", "lot": "l-9"}, [("out::", "out::\n"), ("out::L-00019", "out::L-00019\n")]),
        ({"item": "p3", "serials": ["B"]}, [("out::", "out:;")]),
    ],
)
def test_where_to_look_for_what_was_taken_out(given: dict[str, Any], found: list[tuple[str, str]]) -> None:
    """Where more than an item is named, at what was taken out without one: of which it was the unit's fold knows."""
    every = looked_at(given)
    assert {one for one in every if one[0].startswith("out:")} == set(found)


def looked_at(given: dict[str, Any]) -> set[tuple[str, str]]:
    """Give after and before what is looked at."""
    return between(stretches(criteria(given), ["hood", "mask"], ["p3", "tube"]))


def between(every: Iterable[Stretch]) -> set[tuple[str, str]]:
    """Give after and before what some stretches lie, as the query has it."""
    return {
        (beginning + first, f"{beginning[:-1]};" if last is None else f"{beginning}{last}\n")
        for beginnings, first, last in every
        for beginning in beginnings
    }


def test_lots_are_not_multiplied_by_items() -> None:
    """A notice of a hundred lots looks at a hundred places behind all items, and those of unknown lots."""
    items = [f"i-{number}" for number in range(200)]
    meant = criteria({"lots": [f"L-{number:03d}" for number in range(100)]})
    told = {one for one in stretches(meant, [], items) if one[0] != ("out::",)}
    assert len(told) == 101
    assert {len(beginnings) for beginnings, _, _ in told} == {200}


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"item": "p3"}, {"hood"}),
        ({"item": "abek"}, {"mask"}),
        ({"item": "abek", "model": "hood"}, {"mask"}),
        ({"item": "no-such-item"}, set()),
        ({"lot": "L-9"}, {"hood", "mask"}),
        ({"model": "pack"}, set()),
        ({"model": "hood"}, set()),
    ],
)
def test_which_models_may_hold_it_untold(given: dict[str, Any], found: set[str]) -> None:
    """Those that list what is meant, whatever model it names: a unit may have been registered as that one, too.

    A criterion of units means nothing that sits in them.
    """
    assert bare(criteria(given), MODELS) == found


@pytest.mark.parametrize(
    ("given", "trace", "found"),
    [
        ({"item": "p3", "lot": "L-9"}, PART, True),
        ({"item": "p3", "lot": "L-8"}, PART, False),
        ({"item": "p3", "lot": "A:9"}, 'part:p3:A:00019\t["a:9",null,null]', True),
        ({"item": "p3", "lot": "A:8"}, 'part:p3:A:00019\t["a:9",null,null]', False),
        ({"item": "p3", "serials": ["S-8"]}, PART, False),
        ({"item": "p3", "expires_from": "2027-04-01"}, PART, False),
        ({"item": "p3", "lot": "L-8"}, "part:p3:\t[null,null,null]", True),
        ({"item": "p3", "model": "mask"}, PART, True),
        ({"item": "tube"}, PART, False),
        ({"model": "hood"}, PART, False),
        ({"item": "p3"}, BARE, True),
        ({"item": "p3", "model": "mask"}, BARE, True),
        ({"item": "p3"}, FILTERED, False),
        ({"item": "tube"}, FILTERED, True),
        ({"item": "abek"}, BARE, False),
        ({"item": "p3"}, "bare:no-such-model:[]", False),
        ({"item": "p3"}, HOOD, False),
        ({"model": "hood"}, BARE, False),
        ({"model": "hood"}, HOOD, True),
        ({"model": "mask"}, HOOD, False),
        ({"serials": ["s-a-01"]}, HOOD, True),
        ({"serials": ["S-A-2"]}, HOOD, False),
        ({"made_from": "2025-03-02"}, HOOD, True),
        ({"made_from": "2025-03-02"}, 'unit:hood:S-A-00011\t["S-A-1","2025-03-01",null]', False),
        ({"received_to": "2025-03-02"}, 'unit:hood:S-A-00011\t["S-A-1",null,"2025-03-03"]', False),
    ],
)
def test_which_traces_match(given: dict[str, Any], trace: str, *, found: bool) -> None:
    """All that may be affected, and little else: of the unit of a part nothing is traced."""
    assert matched(criteria(given), trace, MODELS) is found
    assert matched(criteria({"item": "no-such-item"}, given), trace, MODELS) is found


@pytest.mark.parametrize(
    ("given", "said", "found"),
    [
        ({"item": "p3", "lot": "L-9"}, '["l-09",null]', True),
        ({"item": "p3", "lot": "L-9"}, '["L-8",null]', False),
        ({"item": "p3", "lot": "L-9"}, '[null,"S-7"]', True),
        ({"item": "p3", "serials": ["S-7"]}, '[null,"s-07"]', True),
        ({"item": "p3", "serials": ["S-7"]}, '["L-9","S-8"]', False),
        ({"lot": "L-9", "model": "mask"}, '["L-9",null]', True),
        ({"item": "p3"}, '["L-9",null]', False),
        ({"serials": ["S-7"]}, '[null,"S-7"]', False),
    ],
)
def test_what_was_taken_out_is_matched_by_its_lot_and_serial(given: dict[str, Any], said: str, *, found: bool) -> None:
    """Of what item it was is not said, so that any may be meant; a criterion that gives no more finds it elsewhere."""
    assert matched(criteria(given), f"out::L-00019\t{said}", MODELS) is found


def test_where_one_lot_of_an_item_lies() -> None:
    """As it is compared, and no other beside it."""
    assert lot_of("stock", "p3", " l-9 ") == (("stock:p3:",), "L-00019", "L-00019")
    [(first, last)] = between({lot_of("stock", "p3", "L-9")})
    assert first < next(traces(event(stocked(lot="l-09")))) < last
    assert not first < next(traces(event(stocked(lot="L-90")))) < last
