"""The life of a part: its shelf life, and the limits that its item sets on service and time since opening.

Days of service count from fitting, hours by the wearings recorded, shifts by the uses counted.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta

from service.domain.kinds.item_defined import ServiceLimit
from service.domain.part import Part
from service.domain.scene import Scene
from service.domain.standing import FOREVER, Mark, Standing
from service.domain.standing import worst as worst_of
from service.domain.unit import Fitted, Opening


def ends(fitted: Fitted, scene: Scene) -> Iterator[Mark]:
    """Give the moments at which its dates run out: shelf life (do-not-use) and days of service (overdue)."""
    part = fitted.part
    if part is None:
        return
    if part.expires is not None:
        yield scene.end_of(part.expires), "do-not-use", ("expired",), (fitted.event,)
    item = scene.item(part.item)
    if item is not None and item.service_limit is not None and item.service_limit.days is not None:
        yield _days_on(_service_began(fitted, part), item.service_limit.days, fitted, scene)


def opened_ends(fitted: Fitted, opened: Opening | None, scene: Scene) -> Iterator[Mark]:
    """Give the moment at which its time since opening runs out."""
    item = None if fitted.part is None else scene.item(fitted.part.item)
    if item is not None and item.after_opening_days is not None and opened is not None:
        yield _days_on(opened.on, item.after_opening_days, fitted, scene)


def worked(fitted: Fitted, scene: Scene) -> Iterator[Mark]:
    """Give the moment from which it has served its hours, or more than its shifts (overdue)."""
    item = None if fitted.part is None else scene.item(fitted.part.item)
    limit = None if item is None else item.service_limit
    if limit is not None and limit.hours is not None:
        yield _hours_reached(fitted, limit.hours, scene), "overdue", ("service-limit",), (fitted.event,)
    if limit is not None and limit.shifts is not None:
        past = scene.nth_use(limit.shifts + 1 - (scene.unit.uses - fitted.uses_before))
        yield past, "overdue", ("service-limit",), (fitted.event,)


def without_schedule(fitted: Fitted, opened: Opening | None, scene: Scene) -> Iterator[Mark]:
    """Give the moment a gas filter is opened that has no schedule for its change (do-not-use)."""
    item = None if fitted.part is None else scene.item(fitted.part.item)
    scheduled = item is not None and (item.after_opening_days is not None or _limits(item.service_limit))
    if opened is not None and not scheduled:
        yield opened.at, "do-not-use", ("no-schedule",), (fitted.event,)


def opening(fitted: Fitted, scene: Scene, *, gas: bool) -> Opening | None:
    """Say when a part was or will be opened: as stated or, if earlier, as known; None where no use is foreseen.

    A sealed gas filter is opened by the first use after its fitting; anything else is open as it is fitted.
    """
    part = fitted.part
    if part is None:
        return None
    known = [] if part.opened_on is None else [Opening(scene.start_of_day(part.opened_on), part.opened_on)]
    if not gas or part.condition == "refitted":
        known.append(Opening(fitted.at, fitted.on))
    elif fitted.used is not None:
        known.append(fitted.used)
    elif (at := _next_use(scene)) < FOREVER:
        known.append(Opening(at, scene.day(at)))
    return min(known, key=lambda opened: opened.at, default=None)


def _next_use(scene: Scene) -> datetime:
    """Give the moment of the use that goes on, or the next that is foreseen."""
    return scene.since if _ends(scene) else scene.nth_use(1)


def _ends(scene: Scene) -> list[datetime]:
    """List the ends of the wearings that go on, in order."""
    return sorted(worn.until for worn in scene.unit.wearings if worn.until is not None and worn.until > scene.since)


def _limits(limit: ServiceLimit | None) -> bool:
    return limit is not None and any(part is not None for part in (limit.days, limit.hours, limit.shifts))


def _days_on(day: date, days: int, fitted: Fitted, scene: Scene) -> Mark:
    return scene.end_of_day(day + timedelta(days=days)), "overdue", ("service-limit",), (fitted.event,)


def _service_began(fitted: Fitted, part: Part) -> date:
    """Give the day its service began: of a refitted part the day it was opened, if that is known."""
    return part.opened_on if part.condition == "refitted" and part.opened_on is not None else fitted.on


def _hours_reached(fitted: Fitted, hours: float, scene: Scene) -> datetime:
    """Give the moment its hours are served, if that is within the wearings that go on; FOREVER if it is not."""
    left = timedelta(hours=hours) - timedelta(microseconds=scene.unit.worn - fitted.worn_before)
    scene.look_ahead()
    now = scene.since
    ends = _ends(scene)
    for gone, end in enumerate(ends):
        at_once = len(ends) - gone
        if left <= (end - now) * at_once:
            return now + max(left, timedelta()) / at_once
        left -= (end - now) * at_once
        now = end
    return now if left <= timedelta() else FOREVER


def warned(marks: Iterable[Mark], scene: Scene, since: datetime) -> Iterator[Mark]:
    """Give the marks, each preceded by its warning, which comes no earlier than `since`."""
    for mark in marks:
        yield max(since, scene.earlier(mark[0], scene.terms.filter_due_soon)), "due-soon", (), ()
        yield mark


def overlay(since: datetime, marks: list[Mark], before: Standing = "in-date") -> list[Mark]:
    """Turn marks that each hold from their moment on into steps where the worst so far holds, with all its reasons.

    `before` holds up to the first.
    """
    steps: list[Mark] = [(since, before, (), ())]
    held: list[Mark] = []
    for mark in sorted(marks, key=lambda mark: mark[0]):
        held.append(mark)
        worst = worst_of(known[1] for known in held)
        reasons = tuple(sorted({reason for known in held for reason in known[2]}))
        because = tuple(dict.fromkeys(event for known in held if known[1] == worst for event in known[3]))
        steps.append((mark[0], worst, reasons if worst in {"overdue", "do-not-use"} else (), because))
    return steps
