"""The life of a part: its shelf life, and the limits that its item sets on service and time since opening.

Days of service count from fitting, hours by the wearings recorded, shifts by the uses counted.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta

from service.domain.part import Part
from service.domain.scene import Scene
from service.domain.standing import FOREVER, Mark, Standing
from service.domain.unit import Fitted, Unit

HOUR_SECONDS = 3600


def ends(fitted: Fitted, scene: Scene) -> Iterator[Mark]:
    """Give the moments at which its dates run out: shelf life (do-not-use) and days of service (overdue)."""
    part = fitted.part
    if part is None:
        return
    if part.expires is not None:
        yield scene.end_of(part.expires), "do-not-use", ("expired",), (fitted.event,)
    item = scene.item(part.item)
    if item is not None and item.service_limit is not None and item.service_limit.days is not None:
        yield _days_on(_service_began(fitted, part, scene), item.service_limit.days, fitted, scene)


def opened_ends(unit: Unit, fitted: Fitted, scene: Scene, *, gas: bool) -> Iterator[Mark]:
    """Give the moment at which its time since opening runs out. A sealed gas filter is opened by its first use."""
    item = None if fitted.part is None else scene.item(fitted.part.item)
    if item is None or item.after_opening_days is None:
        return
    opened = fitted.opened_at or (opening(unit, fitted, scene) if gas else fitted.at)
    if opened < FOREVER:
        yield _days_on(scene.day(opened), item.after_opening_days, fitted, scene)


def worked(unit: Unit, fitted: Fitted, scene: Scene) -> Iterator[Mark]:
    """Give the moment from which it has served its hours, or more than its shifts (overdue)."""
    item = None if fitted.part is None else scene.item(fitted.part.item)
    limit = None if item is None else item.service_limit
    if limit is not None and limit.hours is not None:
        yield _hours_reached(unit, fitted, limit.hours, scene), "overdue", ("service-limit",), (fitted.event,)
    if limit is not None and limit.shifts is not None:
        past = scene.nth_use(unit, limit.shifts + 1 - fitted.uses)
        yield past, "overdue", ("service-limit",), (fitted.event,)


def without_schedule(unit: Unit, fitted: Fitted, scene: Scene) -> Iterator[Mark]:
    """Give the moment a gas filter is opened that has no schedule for its change (do-not-use)."""
    item = None if fitted.part is None else scene.item(fitted.part.item)
    if item is not None and (item.service_limit is not None or item.after_opening_days is not None):
        return
    if fitted.part is not None:
        yield opening(unit, fitted, scene), "do-not-use", ("no-schedule",), (fitted.event,)


def opening(unit: Unit, fitted: Fitted, scene: Scene) -> datetime:
    """Give the moment the seal was or will be broken: as known, else the next use."""
    return fitted.opened_at or scene.nth_use(unit, 1)


def _days_on(day: date, days: int, fitted: Fitted, scene: Scene) -> Mark:
    return scene.end_of_day(day + timedelta(days=days)), "overdue", ("service-limit",), (fitted.event,)


def _service_began(fitted: Fitted, part: Part, scene: Scene) -> date:
    """Give the day its service began: of a refitted part the day it was opened, if that is known."""
    if part.condition == "refitted" and part.opened_on is not None:
        return part.opened_on
    return scene.day(fitted.at)


def _hours_reached(unit: Unit, fitted: Fitted, hours: float, scene: Scene) -> datetime:
    """Give the moment its hours are served, if that is within the use that goes on; FOREVER if it is not."""
    left = timedelta(seconds=hours * HOUR_SECONDS - fitted.worn_seconds)
    if left <= timedelta(0):
        return scene.since
    worn = unit.wearing
    if worn is None or worn.until is None or worn.until < scene.since + left:
        return FOREVER
    return scene.since + left


def warned(marks: Iterable[Mark], scene: Scene) -> Iterator[Mark]:
    """Give the marks, each preceded by its warning."""
    for mark in marks:
        yield scene.earlier(mark[0], scene.filter_due_soon), "due-soon", (), ()
        yield mark


def overlay(since: datetime, marks: list[Mark]) -> list[Mark]:
    """Turn marks that each hold from their moment on into steps where the worst so far holds, with all its reasons."""
    order: tuple[Standing, ...] = ("in-date", "due-soon", "overdue", "do-not-use")
    steps: list[Mark] = [(since, "in-date", (), ())]
    held: list[Mark] = []
    for mark in sorted(marks, key=lambda mark: mark[0]):
        held.append(mark)
        worst = max((known[1] for known in held), key=order.index)
        reasons = tuple(sorted({reason for known in held for reason in known[2]}))
        because = tuple(dict.fromkeys(event for known in held if known[1] == worst for event in known[3]))
        steps.append((mark[0], worst, reasons if worst in {"overdue", "do-not-use"} else (), because))
    return steps
