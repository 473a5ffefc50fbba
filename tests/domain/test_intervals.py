from datetime import datetime
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.intervals import (
    COMPONENT,
    OUT,
    Interval,
    Memory,
    forbidding,
    in_scope,
    judge,
    not_ready,
    stretch,
)
from service.domain.part import Part
from service.domain.rules import RULES
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Breach, Cause, Charge, Fitted, Unit
from service.domain.world import World
from tests.domain.units import NOON, at, dated, event, evidence, unit, world
from tests.oracle.firm import policy
from tests.oracle.posting import moment

WORLD = world()
STORED = world(policy("scope", {"in_store": True}))
DAMAGED = (Cause("damage", at(-1), event(1)),)
EXAMINED = dated(moment("2026-02-27 09:00").date(), 3)


def over(told: Unit, until: datetime = FOREVER, there: World = WORLD) -> list[Interval]:
    """Give the standing of a unit from Monday noon on."""
    return stretch(told, Scene(NOON, until, there, told))


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"where": "issued"}, True),
        ({"where": "stationed"}, True),
        ({}, False),
        ({"where": "issued", "held": DAMAGED}, True),
        ({"where": "stationed", "held": DAMAGED}, True),
        ({"held": DAMAGED}, False),
        ({"where": "issued", "missing": True}, False),
        ({"moved_to": "works"}, False),
        ({"at_service": "maker"}, False),
        ({"where": "issued", "retired": True}, False),
        ({"where": "issued", "fitted_to": "A-2"}, False),
    ],
)
def test_scope_is_decided_by_the_phase(fields: dict[str, Any], expected: bool) -> None:
    """Issued, stationed, and withdrawn but in somebody's hands (R10); a part of another unit never (R51)."""
    told = unit(**fields)
    assert in_scope(told, Scene(NOON, FOREVER, WORLD, told)) is expected


def test_a_policy_may_count_units_in_store() -> None:
    """Those in store, but not those put away (design 4)."""
    assert in_scope(unit(), Scene(NOON, FOREVER, STORED, unit()))
    assert not in_scope(unit(held=DAMAGED), Scene(NOON, FOREVER, STORED, unit(held=DAMAGED)))
    away = unit(at_service="maker-1")
    assert not in_scope(away, Scene(NOON, FOREVER, STORED, away))


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({}, ()),
        ({"missing": True}, ("missing",)),
        ({"at_service": "maker", "held": DAMAGED}, ("at-service", "withdrawal")),
        ({"retired": True, "unresolved": (event(1),)}, ("retired", "unresolved-report")),
        ({"retired": True, "components": {"b": ("retired",)}}, ("retired",)),
        ({"moved_to": "works"}, ()),
    ],
)
def test_some_reasons_forbid_use_whatever_the_scope(fields: dict[str, Any], expected: tuple[str, ...]) -> None:
    """What is held, and being missing, at service or retired, each once and in order (R10)."""
    assert forbidding(unit(**fields)) == expected


def test_out_of_scope_nothing_is_judged_but_what_forbids_use_is_said() -> None:
    """One interval, with the digits of no rule; a part of another unit says that it is one."""
    assert over(unit(held=DAMAGED)) == [
        Interval(NOON, FOREVER, "dock", "hood", "quarantined", in_scope=False, do_not_use=True, reasons=("withdrawal",))
    ]
    assert over(unit())[0].rules == OUT == "00000000"
    assert over(unit(fitted_to="A-2"))[0].rules == COMPONENT
    assert not over(unit())[0].do_not_use


def test_in_scope_the_worst_rule_decides() -> None:
    """The standing changes as soon as that of any rule does; each has its digit, in the order of the rules."""
    told = unit(where="issued", examined=EXAMINED, charge=Charge(None, at(-1), event(4)))
    told = replace(told, breaches=(Breach(at(2), None, "function-check-owed", event(5)),))
    first, second, *_, last = over(told)
    assert [rule.name for rule in RULES][4] == "power"
    assert (first.since, first.until, first.standing, first.rules, first.reasons) == (
        NOON, at(2), "overdue", "11113100", ("charge-unknown",),
    )  # fmt: skip
    assert (second.rules, second.reasons) == ("13113100", ("charge-unknown", "function-check-owed"))
    assert (last.since, last.until) == (moment("2026-03-28 00:00"), FOREVER)
    assert last.reasons == ("charge-unknown", "function-check-owed", "thorough-examination")


def test_with_nothing_to_judge_a_unit_in_scope_is_in_date() -> None:
    """Where every rule is out of scope the unit is not (R33)."""
    told = unit(where="issued", site="nowhere", model="unknown")
    [found] = over(told)
    assert (found.in_scope, found.standing, found.do_not_use, found.rules) == (True, "in-date", False, "01100100")


def test_a_warning_has_no_reasons() -> None:
    """Due soon is compliant and forbids nothing."""
    told = unit(where="issued", examined=EXAMINED)
    soon = over(told)[1]
    assert (soon.since, soon.standing, soon.do_not_use, soon.reasons) == (
        moment("2026-03-21 00:00"), "due-soon", False, (),
    )  # fmt: skip


def test_a_stretch_ends_where_it_ends() -> None:
    """Nothing is said of the time after it."""
    told = unit(where="issued", examined=EXAMINED)
    until = moment("2026-03-22 00:00")
    assert [one.until for one in over(told, until)] == [moment("2026-03-21 00:00"), until]
    assert [one.until for one in over(told, moment("2026-03-21 00:00"))] == [moment("2026-03-21 00:00")]


def test_intervals_are_the_same_if_they_differ_in_time_only() -> None:
    """Reasons and the digits of the rules count too (R53)."""
    one = Interval(NOON, at(1), "dock", "hood", "issued", in_scope=True, reasons=("recall",))
    assert one.same(replace(one, since=at(5), until=FOREVER))
    for change in ({"site": "mesa"}, {"reasons": ()}, {"rules": "1"}, {"phase": "missing"}, {"do_not_use": True}):
        assert not one.same(replace(one, **change))


def test_what_a_rule_said_is_remembered_until_something_it_goes_by_changes() -> None:
    """A memory changes no answer: neither for later moments, nor after a change, nor across versions."""
    memory = Memory()
    versions = world(policy("thorough-examination", {"interval": "P14D"}, "2026-03-05 00:00"))
    told = unit(where="issued", examined=EXAMINED)
    steps = [
        told,
        replace(told, cleaning_owed=evidence(1)),
        replace(told, use="emergency"),
        replace(told, where="stationed", charge=Charge(5, at(2), event(4))),
        replace(told, parts={"battery": Fitted(Part(item="cell", condition="new"), NOON, NOON.date(), event(4))}),
    ]
    for hours, state in enumerate([*steps, *steps, *reversed(steps)]):
        scene = Scene(at(hours * 9), at(hours * 9 + 9), versions, state)
        assert stretch(state, scene, memory) == stretch(state, scene)


@pytest.mark.parametrize(
    ("fields", "reasons"),
    [
        ({"examined": EXAMINED}, ()),
        ({"examined": EXAMINED, "held": DAMAGED}, ("withdrawal",)),
        ({"examined": EXAMINED, "missing": True}, ("missing",)),
        ({"examined": EXAMINED, "cleaning_owed": evidence(-1)}, ("cleaning-owed",)),
        ({"examined": dated(moment("2026-01-05 09:00").date())}, ("thorough-examination",)),
        ({"examined": EXAMINED, "breaches": (Breach(at(-1), "p-1", "used-without-check", None),)}, ()),
        (
            {"examined": EXAMINED, "breaches": (Breach(at(-1), None, "function-check-owed", None),)},
            ("function-check-owed",),
        ),
        ({}, ()),
        ({"where": "stationed", "site": "mesa", "examined": dated(moment("2026-01-05 09:00").date())}, ()),
    ],
)
def test_ready_is_what_would_be_said_on_issue(fields: dict[str, Any], reasons: tuple[str, ...]) -> None:
    """As if issued now for its own use, without uses before or to come (design 4)."""
    assert not_ready(unit(**fields), NOON, WORLD) == reasons


def test_ready_looks_at_no_use_to_come() -> None:
    """A sealed gas filter without a schedule may be handed out: its first use is still to come."""
    part = Fitted(Part(item="abek", condition="new"), NOON, NOON.date(), event(4))
    told = unit(model="mask", examined=EXAMINED, parts={"gas-filter": part})
    assert not_ready(told, NOON, WORLD) == ()
    issued = replace(told, where="issued")
    assert judge(issued, Scene(NOON, FOREVER, WORLD, issued))["filter-life"][0].reasons == ("no-schedule",)
