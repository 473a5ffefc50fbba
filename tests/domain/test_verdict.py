from datetime import date
from typing import Any

import pytest

from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.verdict import Readings, Result, Verdict, calibrated, judge
from tests.domain.reference_data import day, instrument
from tests.domain.units import model

PASSES: dict[str, Result] = {"airflow": "pass", "alarm": "pass", "battery": "pass"}
NO_ROLES = model(points=[{"point": "seal", "required": True, "on_fail": "recheck"}])


def judged(points: dict[str, Any] | None = None, given: Any = None, **readings: Any) -> Verdict:
    """Judge points, all passing unless said otherwise, and readings by the model, the usual one unless given."""
    return judge(PASSES | (points or {}), Readings(**readings), model() if given is None else given)


def test_every_required_point_passing_passes() -> None:
    """With every required point passing the check passes, asks nothing and proves a swap; no flow was measured."""
    assert judged() == Verdict(outcome="passing", after_swap=True)


def test_a_point_that_is_not_required_may_be_missing_or_not_apply() -> None:
    """Only required points must pass."""
    assert judged({"visor": "not-applicable"}).outcome == "passing"


def test_a_required_point_without_a_result_proves_nothing() -> None:
    """A required point that is missing or does not apply makes the check incomplete (design 3.3)."""
    points = {name: result for name, result in PASSES.items() if name != "alarm"}
    assert judge(points, Readings(), model()) == Verdict(outcome="incomplete")
    assert judge({**points, "alarm": "not-applicable"}, Readings(), model()) == Verdict(outcome="incomplete")


def test_without_a_model_nothing_passes() -> None:
    """A check of a model that is not defined proves nothing, and fails what its sender says fails."""
    assert judge({"airflow": "pass"}, Readings(), None) == Verdict(outcome="incomplete")
    assert judge({"airflow": "fail"}, Readings(), None) == Verdict(outcome="failing", asks=frozenset({"withdraw"}))
    assert judge({}, Readings(airflow_lpm=1, battery_percent=1), None) == Verdict(outcome="incomplete")


@pytest.mark.parametrize(
    ("point", "asks"),
    [("alarm", {"withdraw"}), ("battery", {"recheck"}), ("visor", {"recheck"}), ("strap", {"withdraw"})],
)
def test_a_failing_point_asks_what_the_model_says(point: str, asks: set[str]) -> None:
    """A failing point asks for what the model says; one it does not know withdraws."""
    verdict = judged({point: "fail"})
    assert (verdict.outcome, set(verdict.asks)) == ("failing", asks)


def test_several_failing_points_ask_together() -> None:
    """Each failing point asks for its own."""
    assert judged({"alarm": "fail", "battery": "fail"}).asks == {"withdraw", "recheck"}


@pytest.mark.parametrize(
    ("flow", "outcome", "measured"),
    [(159.9, "failing", False), (160, "passing", True), (400, "passing", True), (400.1, "incomplete", False)],
)
def test_a_flow_reading_is_held_against_the_minimum_and_what_is_plausible(
    flow: float, outcome: str, measured: bool
) -> None:
    """Exactly the minimum passes (R19), and exactly the most that is plausible; beyond it proves nothing."""
    verdict = judged(airflow_lpm=flow)
    assert (verdict.outcome, verdict.measured) == (outcome, measured)


def test_a_flow_under_what_is_plausible_proves_nothing() -> None:
    """With a minimum below what is plausible, a reading under it is believed to be wrong."""
    low = model(minimum_flow_lpm=10, plausible_flow_lpm=[20, 400])
    assert judged(given=low, airflow_lpm=19).outcome == "incomplete"
    assert judged(given=low, airflow_lpm=20).outcome == "passing"


def test_without_a_plausible_range_any_flow_is_believed() -> None:
    """A model that states no range doubts no reading."""
    assert judged(given=model(plausible_flow_lpm=None), airflow_lpm=1999).measured


def test_without_a_minimum_no_flow_is_measured() -> None:
    """A model without a minimum fails no flow, and none is enough."""
    verdict = judged(given=model(minimum_flow_lpm=None), airflow_lpm=185)
    assert (verdict.outcome, verdict.measured) == ("passing", False)


def test_a_reading_out_of_calibration_proves_nothing_good() -> None:
    """Out of calibration a pass is unproven, but too little air still fails (design 3.3)."""
    assert judged(airflow_lpm=185, calibrated=False) == Verdict(outcome="incomplete")
    assert judged(airflow_lpm=150, calibrated=False).outcome == "failing"


@pytest.mark.parametrize(("indicator", "outcome"), [("below", "failing"), ("above", "passing")])
def test_the_indicator_below_its_mark_fails_the_airflow(indicator: str, outcome: str) -> None:
    """Below the mark the airflow point fails whatever the points say (R19)."""
    verdict = judged(airflow_indicator=indicator)
    assert (verdict.outcome, verdict.measured) == (outcome, False)


def test_a_failing_airflow_point_stays_failing_with_a_good_reading() -> None:
    """The sender's failure stands, also if the reading proves nothing."""
    assert judged({"airflow": "fail"}, airflow_lpm=185).asks == {"withdraw"}
    assert judged({"airflow": "fail"}, airflow_lpm=185, calibrated=False).outcome == "failing"


def test_a_reading_that_fails_asks_what_its_point_asks() -> None:
    """Where a point speaks of the airflow or the battery, its failure means what the model says of the point."""
    mild = model(
        points=[
            {"point": "flow", "role": "airflow", "required": True, "on_fail": "recheck"},
            {"point": "cell", "role": "battery", "required": True, "on_fail": "withdraw"},
        ]
    )
    points: dict[str, Result] = {"flow": "pass", "cell": "pass"}
    assert judge(points, Readings(airflow_lpm=100), mild).asks == {"recheck"}
    assert judge(points, Readings(battery_percent=1), mild).asks == {"withdraw"}
    assert judge(points, Readings(airflow_lpm=100), mild).measured is False


def test_a_reading_does_not_stand_in_for_the_airflow_point() -> None:
    """A point that was not stated is missing, however good the reading."""
    verdict = judge({"alarm": "pass", "battery": "pass"}, Readings(airflow_lpm=185), model())
    assert verdict.outcome == "incomplete"


def test_too_little_air_withdraws_where_no_point_speaks_of_it() -> None:
    """Of a model without an airflow point too little air withdraws."""
    silent = model(points=[{"point": "seal", "required": True, "on_fail": "recheck"}])
    verdict = judge({"seal": "pass"}, Readings(airflow_lpm=100), silent)
    assert (verdict.outcome, set(verdict.asks)) == ("failing", {"withdraw"})


@pytest.mark.parametrize(("percent", "outcome"), [(19.9, "failing"), (20, "passing")])
def test_a_charge_under_the_low_mark_fails_the_battery(percent: float, outcome: str) -> None:
    """Exactly the low mark is enough."""
    verdict = judged(battery_percent=percent)
    assert (verdict.outcome, set(verdict.asks)) == (outcome, {"recheck"} if outcome == "failing" else set())


def test_a_low_charge_asks_for_a_recheck_where_no_point_speaks_of_it() -> None:
    """Of a model without a battery point a low charge asks for a recheck."""
    verdict = judge({"seal": "pass"}, Readings(battery_percent=5), NO_ROLES)
    assert (verdict.outcome, set(verdict.asks)) == ("failing", {"recheck"})


def test_a_model_without_limits_fails_no_charge() -> None:
    """Without a low mark no charge is too low."""
    assert judged(given=model(battery=None), battery_percent=1).outcome == "passing"


@pytest.mark.parametrize("point", ["airflow", "alarm", "battery"])
def test_a_swap_is_proved_by_airflow_alarm_and_battery_alone(point: str) -> None:
    """After a swap those three must pass; other points may be missing (R20)."""
    more = model(
        points=[
            *({"point": name, "role": name, "required": True, "on_fail": "withdraw"} for name in PASSES),
            {"point": "tube", "role": "tube", "required": True, "on_fail": "withdraw"},
        ]
    )
    assert judged(given=more) == Verdict(outcome="incomplete", after_swap=True)
    assert not judged({point: "not-applicable"}, given=more).after_swap


def test_a_model_without_those_points_proves_no_swap() -> None:
    """Where no point speaks of airflow, alarm or battery nothing proves a swap."""
    assert not judge({"seal": "pass"}, Readings(), NO_ROLES).after_swap


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        (date(2025, 12, 31), False),
        (date(2026, 1, 1), True),
        (date(2026, 12, 31), True),
        (date(2027, 1, 1), False),
    ],
)
def test_calibration_holds_from_its_day_to_the_day_it_is_due(on: date, expected: bool) -> None:
    """Both days belong to it; an instrument nobody defined is never in calibration."""
    defined = instrument(day(1)).event
    assert isinstance(defined, InstrumentDefined)
    assert calibrated(defined, on) is expected
    assert not calibrated(None, on)
