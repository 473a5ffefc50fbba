from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.part import Part
from service.domain.rules import (
    cleaning,
    filter_life,
    listed_parts,
    power,
    pre_use_check,
    thorough_examination,
    withdrawal,
)
from service.domain.scene import Scene
from service.domain.standing import FOREVER, Span
from service.domain.unit import Breach, Cause, Charge, Cover, Evidence, Fitted, Loading, Unit
from service.domain.world import World
from tests.domain.units import NOON, at, dated, event, evidence, unit, world
from tests.oracle.firm import HOOD, defined, item, policy
from tests.oracle.posting import moment

WORLD = world()
Judge = Callable[[Unit, Scene], tuple[Span, ...]]
Said = list[tuple[datetime, str, tuple[str, ...], list[int]]]


def said(judge: Judge, told: Unit, there: World = WORLD, since: datetime = NOON) -> Said:
    """Ask a rule from a moment on: since when, standing, reasons, and the numbers of the events it rests on."""
    spans = judge(told, Scene(since, FOREVER, there, told))
    assert spans[0].since == since
    assert spans[-1].until == FOREVER
    assert [one.until for one in spans[:-1]] == [one.since for one in spans[1:]]
    return [(one.since, one.standing, one.reasons, [ref.int for ref in one.because]) for one in spans]


def clause(judge: Judge, told: Unit) -> str:
    """Give the clause a rule names."""
    source = judge(told, Scene(NOON, FOREVER, WORLD, told))[0].source
    assert source is not None
    return source.clause


def fitted(ref: str, **part: Any) -> Fitted:
    """Fit a part on Monday noon."""
    return Fitted(Part(item=ref, condition="new", **part), NOON, NOON.date(), event(5))


# --- thorough examination


def test_an_examination_is_due_a_month_after_the_last() -> None:
    """Examined on 27 February: due soon seven days before, overdue from the end of 27 March (COSHH 2002 reg 9(3))."""
    assert said(thorough_examination.judge, unit(examined=dated(date(2026, 2, 27), 3))) == [
        (NOON, "in-date", (), [3]),
        (moment("2026-03-21 00:00"), "due-soon", (), [3]),
        (moment("2026-03-28 00:00"), "overdue", ("thorough-examination",), [3]),
    ]


def test_without_an_examination_the_first_issue_is_the_anchor() -> None:
    """A new unit runs from its first issue; what is missing then is evidence (R23)."""
    issued = unit(where="issued", first_issue=dated(date(2026, 2, 27), 4))
    assert said(thorough_examination.judge, issued)[-1] == (
        moment("2026-03-28 00:00"), "overdue", ("no-evidence",), [4],
    )  # fmt: skip
    assert said(thorough_examination.judge, unit()) == [(NOON, "out-of-scope", (), [])]


def test_the_examination_counts_before_the_first_issue() -> None:
    """Whatever the first issue was."""
    told = unit(examined=dated(date(2026, 2, 27), 3), first_issue=dated(date(2026, 1, 5), 4))
    assert said(thorough_examination.judge, told)[0] == (NOON, "in-date", (), [3])
    assert thorough_examination.due_on(told, Scene(NOON, FOREVER, WORLD, told)) == date(2026, 3, 27)


def test_where_a_new_unit_is_to_be_examined_first_nothing_else_will_do() -> None:
    """Policy `acceptance`: overdue, without evidence, until it is examined."""
    strict = world(policy("acceptance", {"examination": True}))
    issued = unit(where="issued", first_issue=dated(date(2026, 2, 27), 4))
    assert said(thorough_examination.judge, issued, strict) == [(NOON, "overdue", ("no-evidence",), [])]
    assert thorough_examination.due_on(issued, Scene(NOON, FOREVER, strict, issued)) is None
    examined = replace(issued, examined=dated(date(2026, 2, 27), 3))
    assert said(thorough_examination.judge, examined, strict)[0] == (NOON, "in-date", (), [3])


@pytest.mark.parametrize(
    ("fields", "due"),
    [
        ({"site": "mesa"}, None),
        ({"site": "mesa", "where": "stationed"}, date(2026, 3, 27)),
        ({"site": "mesa", "use": "emergency"}, date(2026, 3, 27)),
        ({"use": "occasional"}, date(2026, 5, 27)),
        ({"use": "occasional", "where": "stationed"}, date(2026, 3, 27)),
        ({"site": "nowhere"}, None),
    ],
)
def test_the_interval_goes_by_jurisdiction_and_use(fields: dict[str, Any], due: date | None) -> None:
    """In uk monthly, three-monthly if occasional; in us monthly for emergencies, else never; nowhere no duty."""
    told = unit(examined=dated(date(2026, 2, 27)), **fields)
    assert thorough_examination.due_on(told, Scene(NOON, FOREVER, WORLD, told)) == due
    standing = said(thorough_examination.judge, told)[0][1]
    assert standing == ("out-of-scope" if due is None else "in-date")


# --- pre-use check and cleaning


def test_without_a_breach_the_check_is_in_date() -> None:
    """It rests on the cover, if there is one."""
    cover = Cover(event(2), "p-1", at(0), at(12))
    assert said(pre_use_check.judge, unit()) == [(NOON, "in-date", (), [])]
    assert said(pre_use_check.judge, unit(cover=cover)) == [(NOON, "in-date", (), [2])]


def test_breaches_are_overdue_from_their_beginning_with_all_their_reasons() -> None:
    """In the order of time, whatever the order they were found in."""
    told = unit(
        breaches=(
            Breach(at(5), None, "function-check-owed", event(3)),
            Breach(at(2), "p-1", "used-without-check", None),
        )
    )
    assert said(pre_use_check.judge, told) == [
        (NOON, "in-date", (), []),
        (at(2), "overdue", ("used-without-check",), []),
        (at(5), "overdue", ("function-check-owed", "used-without-check"), [3]),
    ]


def test_a_cleaning_is_owed_from_when_it_was_owed() -> None:
    """Before that, and when nothing is owed, the rule is in date."""
    assert said(cleaning.judge, unit()) == [(NOON, "in-date", (), [])]
    assert said(cleaning.judge, unit(cleaning_owed=evidence(3, 2))) == [
        (NOON, "in-date", (), []),
        (at(3), "overdue", ("cleaning-owed",), [2]),
    ]
    assert said(cleaning.judge, unit(cleaning_owed=evidence(-3, 2))) == [(NOON, "overdue", ("cleaning-owed",), [2])]


# --- withdrawal


def test_what_is_held_is_not_used() -> None:
    """It rests on every event held and on the recheck, each once."""
    told = unit(
        held=(
            Cause("recall", at(0), event(1), "r"),
            Cause("damage", at(1), event(2)),
            Cause("damage", at(2), event(2)),
        ),
        recheck=Evidence(at(0), event(3)),
    )
    assert said(withdrawal.judge, told) == [(NOON, "do-not-use", ("recall", "recheck", "withdrawal"), [1, 2, 3])]
    assert said(withdrawal.judge, unit(unresolved=(event(9),))) == [(NOON, "do-not-use", ("unresolved-report",), [])]
    assert said(withdrawal.judge, unit()) == [(NOON, "in-date", (), [])]


@pytest.mark.parametrize(
    ("site", "begins"),
    [("dock", "COSHH 2002 reg 9(5)"), ("mesa", "29 CFR 1910.134(h)(4)"), ("nowhere", "a unit that failed")],
)
def test_the_source_is_that_of_the_jurisdiction(site: str, begins: str) -> None:
    """Where none is known it is common practice."""
    assert clause(withdrawal.judge, unit(site=site)).startswith(begins)


# --- filters


def test_without_a_filter_position_there_is_nothing_to_judge() -> None:
    """Nor of a model that nobody defined (R33)."""
    assert said(filter_life.judge, unit(model="bare")) == [(NOON, "out-of-scope", (), [])]
    assert said(filter_life.judge, unit(model="unknown")) == [(NOON, "out-of-scope", (), [])]
    assert said(filter_life.judge, unit()) == [(NOON, "in-date", (), [])]


@pytest.mark.parametrize(("level", "speaks"), [(3, False), (4, True), (5, True)])
def test_a_loading_at_the_change_mark_is_overdue(level: int, speaks: bool) -> None:
    """From the reading on, whether or not it is known what is fitted."""
    told = unit(loadings={"particle-filter": Loading(level, at(-1), event(3))})
    expected = (NOON, "overdue", ("loading",), [3]) if speaks else (NOON, "in-date", (), [])
    assert said(filter_life.judge, told) == [expected]


def test_a_loading_of_no_filter_says_nothing() -> None:
    """Nor one of a model that states no scale."""
    assert said(filter_life.judge, unit(loadings={"battery": Loading(5, at(-1), event(3))}))[0][1] == "in-date"
    plain = world(defined("model-defined", **{name: value for name, value in HOOD.items() if name != "loading"}))
    told = unit(loadings={"particle-filter": Loading(5, at(-1), event(3))})
    assert said(filter_life.judge, told, plain)[0][1] == "in-date"


def test_filters_are_judged_by_their_dates_together() -> None:
    """A shelf life of one, with its warning, and the time since opening of another."""
    there = world(item("pre", after_opening_days=1))
    told = unit(parts={"particle-filter": fitted("p3", expires="2026-03-20"), "pre-filter": fitted("pre")})
    assert said(filter_life.judge, told, there) == [
        (NOON, "due-soon", (), []),
        (moment("2026-03-04 00:00"), "overdue", ("service-limit",), [5]),
        (moment("2026-03-14 00:00"), "overdue", ("service-limit",), [5]),
        (moment("2026-03-21 00:00"), "do-not-use", ("expired", "service-limit"), [5]),
    ]


def test_shifts_served_are_judged() -> None:
    """A filter for one shift is overdue with the second use; what is foreseen counts too."""
    told = unit(uses=2, parts={"particle-filter": fitted("p3-shift")})
    assert said(filter_life.judge, told)[0][1:3] == ("overdue", ("service-limit",))


@pytest.mark.parametrize(
    ("model", "position", "speaks"), [("mask", "gas-filter", True), ("hood", "particle-filter", False)]
)
def test_only_gas_filters_need_a_schedule(model: str, position: str, speaks: bool) -> None:
    """A refitted gas filter is open: without a schedule it is not used."""
    part = Part(item="abek", condition="refitted")
    told = unit(model=model, parts={position: Fitted(part, NOON, NOON.date(), event(5))})
    expected = (NOON, "do-not-use", ("no-schedule",), [5]) if speaks else (NOON, "in-date", (), [])
    assert said(filter_life.judge, told) == [expected]


# --- power


def test_an_unpowered_unit_has_no_power_to_judge() -> None:
    """Nor has one of a model that nobody defined (R33)."""
    for model in ("mask", "unknown"):
        told = unit(model=model, charge=Charge(None, at(0), event(3)))
        assert said(power.judge, told) == [(NOON, "out-of-scope", (), [])]


@pytest.mark.parametrize(
    ("fields", "standing", "reasons"),
    [
        ({}, "in-date", ()),
        ({"charge": Charge(None, at(-1), event(3))}, "overdue", ("charge-unknown",)),
        ({"charge": Charge(19.9, at(-1), event(3))}, "do-not-use", ("charge-low",)),
        ({"charge": Charge(20, at(-1), event(3))}, "in-date", ()),
        ({"capacity": Charge(79.9, at(-1), event(3))}, "overdue", ("capacity-low",)),
        ({"capacity": Charge(80, at(-1), event(3))}, "in-date", ()),
        ({"capacity": Charge(None, at(-1), event(3))}, "in-date", ()),
    ],
)
def test_charge_and_capacity_are_held_against_the_models_marks(
    fields: dict[str, Any], standing: str, reasons: tuple[str, ...]
) -> None:
    """Exactly the mark is enough; after a swap the charge is unknown (R23)."""
    assert said(power.judge, unit(**fields)) == [(NOON, standing, reasons, [3] if reasons else [])]


def test_a_model_without_marks_judges_no_reading_but_an_unknown_charge() -> None:
    """Without limits nothing is too low."""
    plain = world(defined("model-defined", **{name: value for name, value in HOOD.items() if name != "battery"}))
    low = unit(charge=Charge(1, at(-1), event(3)), capacity=Charge(1, at(-1), event(3)))
    assert said(power.judge, low, plain)[0][1] == "in-date"
    unknown = unit(charge=Charge(None, at(-1), event(3)))
    assert said(power.judge, unknown, plain)[0][2] == ("charge-unknown",)


def test_a_battery_ages() -> None:
    """Its shelf life, days of service and time since opening, without a warning before."""
    there = world(item("cell", service_limit={"days": 10}, after_opening_days=5))
    told = unit(parts={"battery": fitted("cell", expires="2026-03-20")})
    assert said(power.judge, told, there) == [
        (NOON, "in-date", (), []),
        (moment("2026-03-08 00:00"), "overdue", ("service-limit",), [5]),
        (moment("2026-03-13 00:00"), "overdue", ("service-limit",), [5]),
        (moment("2026-03-21 00:00"), "do-not-use", ("expired", "service-limit"), [5]),
    ]
    elsewhere = unit(parts={"breathing-tube": fitted("cell", expires="2026-03-20")})
    assert said(power.judge, elsewhere, there) == [(NOON, "in-date", (), [])]


# --- listed parts

TOGETHER = [
    {"name": "a", "items": {"particle-filter": ["p3"], "battery": ["cell"]}},
    {"name": "b", "items": {"particle-filter": ["p3-shift"], "pre-filter": ["pre"]}},
]


def test_without_any_part_said_there_is_nothing_to_judge() -> None:
    """Nor of a model nobody defined."""
    assert said(listed_parts.judge, unit()) == [(NOON, "out-of-scope", (), [])]
    told = unit(model="unknown", parts={"battery": fitted("cell")})
    assert said(listed_parts.judge, told) == [(NOON, "out-of-scope", (), [])]


@pytest.mark.parametrize(
    ("parts", "reasons"),
    [
        ({"battery": "cell"}, ()),
        ({"battery": "tube"}, ("unlisted-part",)),
        ({"fan": "cell"}, ("unlisted-part",)),
        ({"battery": None}, ("missing-part",)),
        ({"pre-filter": None}, ()),
        ({"fan": None}, ()),
        ({"battery": None, "breathing-tube": "cell"}, ("missing-part", "unlisted-part")),
    ],
)
def test_parts_are_those_listed_for_their_position(parts: dict[str, str | None], reasons: tuple[str, ...]) -> None:
    """A part not listed, or a required position that was emptied, is not used."""
    told = unit(
        parts={name: fitted(ref) if ref else Fitted(None, NOON, NOON.date(), event(6)) for name, ref in parts.items()}
    )
    found = said(listed_parts.judge, told)
    assert [(standing, reason) for _, standing, reason, _ in found] == [
        ("do-not-use" if reasons else "in-date", reasons)
    ]
    assert bool(found[0][3]) is bool(reasons)


@pytest.mark.parametrize(
    ("parts", "approved"),
    [
        ({"particle-filter": "p3", "battery": "cell"}, True),
        ({"particle-filter": "p3-shift", "battery": "cell", "pre-filter": "pre"}, True),
        ({"particle-filter": "p3"}, True),
        ({"particle-filter": "p3-hours"}, False),
        ({"breathing-tube": "tube"}, True),
    ],
)
def test_some_approved_combination_allows_what_is_fitted(parts: dict[str, str], approved: bool) -> None:
    """Every part whose position a combination names must be one that it allows."""
    there = world(defined("model-defined", **(HOOD | {"assemblies": TOGETHER})))
    told = unit(parts={name: fitted(ref) for name, ref in parts.items()})
    expected = ("in-date", (), []) if approved else ("do-not-use", ("unlisted-part",), [5])
    assert said(listed_parts.judge, told, there)[0][1:] == expected
    emptied = replace(told, parts={**told.parts, "pre-filter": Fitted(None, NOON, NOON.date(), event(6))})
    assert said(listed_parts.judge, emptied, there)[0][1] == expected[0]
