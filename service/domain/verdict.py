"""Verdicts: what the points and readings of a check or an examination prove.

A verdict is computed, never trusted. Every doubt falls on the safe side: what cannot be believed proves nothing.
"""

from collections.abc import Mapping
from datetime import date
from typing import Literal

import msgspec

from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.model_defined import ModelDefined

Result = Literal["pass", "fail", "not-applicable"]
Outcome = Literal["passing", "failing", "incomplete"]

AFTER_A_SWAP = frozenset({"airflow", "alarm", "battery"})


class Readings(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """What was measured, beside the points: litres per minute, percent, and the flow indicator against its mark.

    `calibrated` is false where an instrument is named that is out of calibration, or that nobody defined.
    """

    airflow_lpm: float | None = None
    airflow_indicator: Literal["above", "below"] | None = None
    battery_percent: float | None = None
    calibrated: bool = True


class Verdict(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """What a set of points proves.

    `asks` is what the failures ask for ("recheck", "withdraw"), `measured` says that enough flow was measured and can
    be believed, `after_swap` that airflow, alarm and battery all passed.
    """

    outcome: Outcome
    asks: frozenset[str] = frozenset()
    measured: bool = False
    after_swap: bool = False


def judge(points: Mapping[str, Result], readings: Readings, model: ModelDefined | None) -> Verdict:
    """Judge points and readings against the model in force."""
    flow, low = _flow(readings, model), _battery_low(readings, model)
    roles = _roles(model)
    results: dict[str, str | None] = dict(points)
    for point, role in roles.items():
        if role == "airflow":
            results[point] = _flow_result(results.get(point), flow)
        if role == "battery" and low:
            results[point] = "fail"
    asks = {_on_fail(point, model) for point, result in results.items() if result == "fail"}
    if flow == "fail" and "airflow" not in roles.values():
        asks.add("withdraw")
    if low and "battery" not in roles.values():
        asks.add("recheck")
    return Verdict(
        outcome="failing" if asks else "passing" if _complete(results, model) else "incomplete",
        asks=frozenset(asks),
        measured=_measured(flow, model),
        after_swap=_proves_swap(results, model),
    )


def _measured(flow: str | None, model: ModelDefined | None) -> bool:
    """Say whether a flow was measured, can be believed, and reaches the model's minimum; without one nothing does."""
    return flow == "pass" and model is not None and model.minimum_flow_lpm is not None


def _roles(model: ModelDefined | None) -> dict[str, str | None]:
    return {} if model is None else {point.point: point.role for point in model.points}


def calibrated(instrument: InstrumentDefined | None, day: date) -> bool:
    """Say whether an instrument's readings can be believed on a day."""
    return instrument is not None and instrument.calibrated_on <= day <= instrument.calibration_due


def _flow(readings: Readings, model: ModelDefined | None) -> Literal["pass", "fail", "unproven"] | None:
    """Judge the flow: None without a reading, unproven where a good reading cannot be believed."""
    if readings.airflow_indicator == "below":
        return "fail"
    if readings.airflow_lpm is None:
        return None
    minimum = None if model is None else model.minimum_flow_lpm
    if minimum is not None and readings.airflow_lpm < minimum:
        return "fail"
    return "pass" if readings.calibrated and _plausible(readings.airflow_lpm, model) else "unproven"


def _plausible(flow: float, model: ModelDefined | None) -> bool:
    if model is None or model.plausible_flow_lpm is None:
        return True
    low, high = model.plausible_flow_lpm
    return low <= flow <= high


def _flow_result(said: str | None, flow: str | None) -> str | None:
    """Put the sender's word and the reading together: a failure stands, a good word that is not proven is none."""
    if flow == "fail":
        return "fail"
    return None if flow == "unproven" and said == "pass" else said


def _battery_low(readings: Readings, model: ModelDefined | None) -> bool:
    limits = None if model is None else model.battery
    charge = readings.battery_percent
    return charge is not None and limits is not None and charge < limits.low_percent


def _complete(results: Mapping[str, str | None], model: ModelDefined | None) -> bool:
    """Say whether every required point passed; without a model nothing is complete."""
    return model is not None and all(results.get(point.point) == "pass" for point in model.points if point.required)


def _on_fail(point: str, model: ModelDefined | None) -> str:
    """Say what a failing point means; one that the model does not know withdraws the unit."""
    known = () if model is None else model.points
    return next((one.on_fail for one in known if one.point == point), "withdraw")


def _proves_swap(results: Mapping[str, str | None], model: ModelDefined | None) -> bool:
    """Say whether every airflow, alarm and battery point of the model passed, and there is one."""
    wanted = [point for point, role in _roles(model).items() if role in AFTER_A_SWAP]
    return bool(wanted) and all(results.get(point) == "pass" for point in wanted)
