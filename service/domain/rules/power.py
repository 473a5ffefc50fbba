"""Power: the battery's charge, age and capacity. After a swap the charge is unknown until it is read.

A charge below the model's low mark is do-not-use (the marks are the firm's own; common practice calls about 5 % the
last). Source: NIOSH 2013-146, battery or airflow state is checked before every use (second-hand).
"""

from collections.abc import Iterator

from service.domain.kinds.model_defined import BatteryLimits
from service.domain.part_life import ends, opened_ends, opening, overlay
from service.domain.scene import Scene
from service.domain.standing import Mark, Source, Span, always, steps
from service.domain.unit import Fitted, Unit

SOURCE = Source("battery or airflow state is checked before every use", "NIOSH 2013-146", "second-hand")


def goes_by(unit: Unit, scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by: of the readings only those that speak against the battery."""
    limits = None if scene.model is None else scene.model.battery
    return (unit.parts, *_read(unit, limits))


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Judge a reading or a passed date; an unpowered unit has nothing to judge."""
    model = scene.model
    if model is None or model.device != "powered":
        return always(scene.since, scene.until, "out-of-scope", SOURCE)
    batteries = [unit.parts.get(known.position) for known in model.positions if known.role == "battery"]
    marks = [mark for fitted in batteries if fitted is not None for mark in _aged(fitted, scene)]
    marks += _read(unit, model.battery)
    return steps(scene.since, scene.until, overlay(scene.since, marks), SOURCE)


def _aged(fitted: Fitted, scene: Scene) -> Iterator[Mark]:
    yield from ends(fitted, scene)
    yield from opened_ends(fitted, opening(fitted, scene, gas=False), scene)


def _read(unit: Unit, limits: BatteryLimits | None) -> Iterator[Mark]:
    charge, capacity = unit.charge, unit.capacity
    if charge is not None and charge.percent is None:
        yield charge.at, "overdue", ("charge-unknown",), (charge.event,)
    if limits is None:
        return
    if charge is not None and charge.percent is not None and charge.percent < limits.low_percent:
        yield charge.at, "do-not-use", ("charge-low",), (charge.event,)
    if capacity is not None and capacity.percent is not None and capacity.percent < limits.end_of_life_percent:
        yield capacity.at, "overdue", ("capacity-low",), (capacity.event,)
