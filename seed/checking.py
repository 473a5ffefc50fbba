"""The pre-use check as the wearer posts it."""

from datetime import datetime

from seed.dice import Dice
from seed.models import Model, Point
from seed.plant import Plant
from seed.unit import Unit
from seed.world import World

RESTORING = frozenset({"airflow", "alarm", "battery"})
LOW_BATTERY = 15


def check(world: World, plant: Plant, unit: Unit, at: datetime, by: str, *, wearer: str | None) -> datetime:
    """Post a complete passing check."""
    return world.about(plant, unit, "checked", at, by, "kiosk", readings(world.dice, unit, None) | {"wearer": wearer})


def failing_check(world: World, plant: Plant, unit: Unit, at: datetime, by: str, point: Point) -> datetime:
    """Post a check with one failing point, under either of the two kinds that can say so."""
    kind = "failed-check" if world.dice.happens(0.6) else "checked"
    fields = readings(world.dice, unit, point) | {"wearer": by}
    if kind == "failed-check":
        fields["action"] = "taken out of use" if point.on_fail == "withdraw" else "put right and checked again"
    return world.about(plant, unit, kind, at, by, "kiosk", fields)


def restoring_check(world: World, plant: Plant, unit: Unit, at: datetime, by: str) -> datetime:
    """Post the points that are enough after a battery swap."""
    points = {point.point: "pass" for point in unit.model.points if point.role in RESTORING}
    fields: dict[str, object] = {
        "points": points,
        "airflow_indicator": "above",
        "battery_percent": world.dice.between(90, 100),
        "wearer": by,
    }
    return world.about(plant, unit, "checked", at, by, "kiosk", fields)


def readings(dice: Dice, unit: Unit, failing: Point | None) -> dict[str, object]:
    """Draw the points and readings of a check; a failing point's reading fits it."""
    points = {point.point: _result(dice, point) for point in unit.model.points}
    role = ""
    if failing is not None:
        points[failing.point] = "fail"
        role = failing.role
    fields: dict[str, object] = {"points": points}
    if unit.model.powered:
        fields |= _air(dice, unit.model, failing=role == "airflow")
        fields["battery_percent"] = (
            dice.between(3, LOW_BATTERY - 3) if role == "battery" else int(min(100, dice.near(84, 8)))
        )
        fields["filter_loading"] = int(unit.loading)
    return fields


def _result(dice: Dice, point: Point) -> str:
    return "pass" if point.required or dice.happens(0.9) else "not-applicable"


def _air(dice: Dice, model: Model, *, failing: bool) -> dict[str, object]:
    if failing:
        return {"airflow_lpm": round(dice.near(model.lowest * 0.9, model.lowest * 0.02), 1)}
    if dice.happens(0.3):
        return {"airflow_lpm": flow(dice, model)}
    return {"airflow_indicator": "above"}


def flow(dice: Dice, model: Model) -> float:
    """Draw a flow above the model's minimum."""
    return round(dice.near(model.lowest * 1.1, model.lowest * 0.025), 1)
