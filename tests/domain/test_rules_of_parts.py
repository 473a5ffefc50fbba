from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.part import Part
from service.domain.rules import filter_life, listed_parts, power
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Charge, Fitted, Loading
from tests.domain.asking import said
from tests.domain.units import NOON, at, event, unit, world
from tests.oracle.firm import HOOD, defined, item
from tests.oracle.posting import moment


def fitted(ref: str, **part: Any) -> Fitted:
    """Fit a part on Monday noon."""
    return Fitted(Part(item=ref, condition="new", **part), NOON, NOON.date(), event(5))


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


def test_where_a_part_is_at_fault_the_combination_is_not_asked_for() -> None:
    """The fault is named, and the event of that part alone."""
    there = world(defined("model-defined", **(HOOD | {"assemblies": TOGETHER})))
    emptied = Fitted(None, NOON, NOON.date(), event(6))
    told = unit(parts={"particle-filter": fitted("p3-hours"), "battery": emptied})
    assert said(listed_parts.judge, told, there) == [(NOON, "do-not-use", ("missing-part",), [6])]


def test_the_life_of_a_filter_goes_by_the_readings_at_the_mark_alone() -> None:
    """One below it changes nothing that was said."""
    below, marked = Loading(3, at(-1), event(3)), Loading(4, at(-1), event(3))
    for loading, basis in ((below, ({},)), (marked, ({}, marked))):
        told = unit(loadings={"particle-filter": loading})
        assert filter_life.goes_by(told, Scene(NOON, FOREVER, world(), told)) == basis
