"""Cleaning: before another wearer, and after emergency, training and fit-test use. Sources: the reference tables."""

from service.domain.scene import Scene
from service.domain.standing import Mark, Span, always, steps
from service.domain.unit import Unit


def goes_by(unit: Unit, _scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by."""
    return (unit.cleaning_owed,)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say from when on a cleaning is owed."""
    owed = unit.cleaning_owed
    source = scene.terms.cleaning.source
    if owed is None:
        return always(scene.since, scene.until, "in-date", source)
    marks: list[Mark] = [
        (scene.since, "in-date", (), ()),
        (owed.at, "overdue", ("cleaning-owed",), (owed.event,)),
    ]
    return steps(scene.since, scene.until, marks, source)
