"""The periodic thorough examination: due one interval after the last valid one, by jurisdiction, device and use.

The due date has the same day-number as the anchor, else it is the month's last day; the unit is overdue from the end of
that day where it is. A new unit runs from its acceptance examination or its first issue. Sources: the reference tables.
"""

from datetime import date, datetime
from uuid import UUID

from service.domain.period import add
from service.domain.scene import Scene
from service.domain.standing import Mark, Span, always, steps
from service.domain.unit import Unit

OVERDUE = "thorough-examination"


def goes_by(unit: Unit, _scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by."""
    return (unit.examined, unit.first_issue)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say when the examination is due soon and overdue; without any evidence it is overdue, never in date."""
    duty = scene.terms.examination
    if duty.interval is None:
        return always(scene.since, scene.until, "out-of-scope", duty.source)
    if unit.examined is None and scene.terms.acceptance:
        return steps(scene.since, scene.until, [_missing(scene.since)], duty.source)
    end = overdue_from(unit, scene)
    if end is None:
        return always(scene.since, scene.until, "out-of-scope", duty.source)
    because = _because(unit)
    soon = scene.earlier(end, duty.due_soon)
    overdue: Mark = (end, "overdue", (OVERDUE if unit.examined else "no-evidence",), because)
    marks: list[Mark] = [(scene.since, "in-date", (), because), (soon, "due-soon", (), because), overdue]
    return steps(scene.since, scene.until, marks, duty.source)


def due_on(unit: Unit, scene: Scene) -> date | None:
    """Give the last day on which the examination is in time; None without a duty, or before the first issue."""
    interval = scene.terms.examination.interval
    if unit.examined is None and scene.terms.acceptance:
        return None
    anchor = unit.examined or unit.first_issue
    return None if interval is None or anchor is None else add(anchor.on, interval)


def overdue_from(unit: Unit, scene: Scene) -> datetime | None:
    """Give the instant from which the unit is overdue: the end of the due day, in the zone in force on it."""
    day = due_on(unit, scene)
    return None if day is None else scene.end_of_day(day)


def _because(unit: Unit) -> tuple[UUID, ...]:
    evidence = unit.examined or unit.first_issue
    return () if evidence is None else (evidence.event,)


def _missing(since: datetime) -> Mark:
    return (since, "overdue", ("no-evidence",), ())
