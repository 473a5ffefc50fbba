from typing import Any

import pytest

from service.domain.kinds.checked import Checked
from service.domain.kinds.failed_check import FailedCheck
from service.domain.unit import Cause, Charge, Cover, Unit
from tests.domain.units import at, event, evidence, fact, model, unit, world
from tests.oracle.firm import HOOD, PASSES, check, defined, point, tell

WORLD = world()
COVER = Cover(event(1), "p-1", at(0), at(12), paused=True)
SWAPPED = {name: PASSES[name] for name in ("airflow", "alarm", "battery")}


def checked(told: Unit | None = None, hours: float = 2, wearer: str | None = "p-1", **fields: Any) -> Unit:
    """Check a unit some hours after noon, everything passing unless said otherwise, and give what it is then."""
    one = fact(check(at(hours).isoformat(), wearer, **fields), WORLD, 5)
    return one.event.happened(unit() if told is None else told, one, WORLD)


@pytest.mark.parametrize(
    ("flow", "instrument", "outcome"),
    [
        (185, None, "passing"),
        (185, "meter", "passing"),
        (185, "no-such-meter", "incomplete"),
        (159, "meter", "failing"),
        (159, "no-such-meter", "failing"),
    ],
)
def test_a_reading_of_an_instrument_nobody_knows_proves_nothing_good(
    flow: float, instrument: str | None, outcome: str
) -> None:
    """A named instrument must be known and in calibration, or a good reading of it proves nothing; a bad one counts."""
    one = fact(check(at(2).isoformat(), airflow_lpm=flow, instrument=instrument), WORLD)
    assert isinstance(one.event, Checked)
    assert one.event.verdict(unit(), one, WORLD).outcome == outcome


def test_a_reading_after_the_calibration_ran_out_proves_nothing() -> None:
    """The meter is calibrated to the end of June 2026, that day included."""
    for moment, outcome in (("2026-06-30 12:00", "passing"), ("2026-07-01 12:00", "incomplete")):
        one = fact(check(moment, airflow_lpm=185, instrument="meter"), WORLD)
        assert isinstance(one.event, Checked)
        assert one.event.verdict(unit(), one, WORLD).outcome == outcome


@pytest.mark.parametrize(
    ("fields", "fails"),
    [
        ({}, False),
        ({"airflow_lpm": 159}, True),
        ({"airflow_lpm": 900}, False),
        ({"battery_percent": 12}, True),
        ({"points": PASSES | {"filters": "fail"}}, True),
        ({"points": PASSES | {"no-such-point": "fail"}}, True),
        ({"points": {"alarm": "pass"}}, False),
    ],
)
def test_it_fails_by_its_sender_or_by_its_readings(fields: dict[str, Any], fails: bool) -> None:
    """What proves nothing does not fail."""
    one = fact(check(at(2).isoformat(), **fields), WORLD)
    assert isinstance(one.event, Checked)
    assert one.event.fails(model()) is fails


def test_a_failed_check_fails_whatever_its_points_say() -> None:
    """Its sender says so."""
    one = fact(tell("failed-check", at(2).isoformat(), wearer="p-1", points=PASSES), WORLD)
    assert isinstance(one.event, FailedCheck)
    assert one.event.fails(model()) is True


def test_one_battery_point_of_several_tells_of_the_charge() -> None:
    """The other may not apply."""
    both = {**HOOD, "points": [*HOOD["points"], point("spare", "battery", "recheck", required=False)]}
    there = world(defined("model-defined", **both))
    one = fact(check(at(2).isoformat(), points=PASSES | {"spare": "not-applicable"}), there)
    assert one.event.happened(unit(charge=Charge(None, at(0), event(1))), one, there).charge is None


@pytest.mark.parametrize(
    ("result", "left"),
    [("pass", None), ("fail", None), ("not-applicable", Charge(None, at(0), event(1))), (None, "same")],
)
def test_a_battery_point_tells_of_the_charge(result: str | None, left: Any) -> None:
    """Passing or failing it ends what was unknown of the charge; another result, or none, leaves it so."""
    swapped = unit(charge=Charge(None, at(0), event(1)))
    points = {name: said for name, said in PASSES.items() if name != "battery"}
    after = checked(swapped, points=points | ({"battery": result} if result else {}))
    assert after.charge == (swapped.charge if left == "same" else left)


def test_other_points_tell_nothing_of_the_charge() -> None:
    """An alarm that passes is no word on the battery."""
    swapped = unit(charge=Charge(None, at(0), event(1)))
    assert checked(swapped, points={"alarm": "pass"}).charge == swapped.charge


def test_the_newest_repair_before_a_passing_check_is_the_one_checked() -> None:
    """A repair at the very instant of the check, or after it, waits for the next."""
    assert checked(unit(repaired=(at(0), at(1), at(2)))).repaired_and_checked == at(1)
    assert checked(unit(repaired=(at(2),), repaired_and_checked=at(-5))).repaired_and_checked == at(-5)


@pytest.mark.parametrize(("wearer", "hours", "paused"), [("p-1", 2, False), (None, 2, True), ("p-1", 12, True)])
def test_after_a_swap_three_points_restore_the_rest_of_a_cover(wearer: str | None, hours: float, paused: bool) -> None:
    """For the same wearer, before its old end, which is not moved (R20)."""
    after = checked(unit(cover=COVER), hours, wearer, points=SWAPPED)
    assert after.cover == Cover(event(1), "p-1", at(0), at(12), paused=paused)


def test_a_complete_passing_check_ends_what_was_open() -> None:
    """A recheck that was asked for, and the failures counted towards one; of a unit held, who passed it is noted."""
    asked = unit(recheck=evidence(0), failing=(event(3),))
    after = checked(asked)
    assert (after.recheck, after.failing, after.passings) == (None, (), {})
    held = unit(held=(Cause("damage", at(0), event(2)),), passings={"p-9": at(1)})
    assert checked(held).passings == {"p-9": at(1), "p-1": at(2)}


def test_another_wearer_ends_a_cover_that_waits() -> None:
    """Whoever wears it next must have it checked whole."""
    assert checked(unit(cover=COVER), 2, "p-2", points=SWAPPED).cover is None


def test_without_a_cover_three_points_restore_nothing() -> None:
    """Nothing was proved before."""
    assert checked(points=SWAPPED).cover is None
