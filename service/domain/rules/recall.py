"""Recall: what a recall asks is done to what it speaks of, and a stop-use is heeded at once (design 4, R33, R34).

- `stop-use`: do-not-use from its opening on.
- `rectify-by`: in-date, due-soon seven days before the end of `due_on` (R50), overdue after it.
- `inspect`: the same.
- `information`: in-date.

What is to be rectified or inspected without a day to do it by is overdue at once: the doubt falls on the safe side. The
day ends where the unit is (R4). A recall is the firm's own act on its maker's notice, so its source is common practice.
"""

from collections.abc import Iterator

from service.domain.part_life import overlay
from service.domain.period import Period
from service.domain.recall.bearing import bearing
from service.domain.recall.opening import Opening
from service.domain.scene import Scene
from service.domain.standing import Mark, Source, Span, always, steps
from service.domain.unit import Unit

SOURCE = Source("what is recalled is dealt with as the notice asks", "common practice", "common-practice")
DUE_SOON = Period(days=7)


def goes_by(unit: Unit, scene: Scene) -> tuple[object, ...]:
    """Name what the rule goes by: nothing where the firm knows no recall."""
    if not scene.world.recalls:
        return ()
    made = (unit.models, unit.serial, unit.made_on, unit.acquired_on, unit.made_once, unit.acquired_once)
    return (unit.parts, unit.fixed, unit.not_affected, unit.forgiven, unit.examined, *made)


def judge(unit: Unit, scene: Scene) -> tuple[Span, ...]:
    """Say what the recalls ask that bear on the unit as it is; there is nothing to judge where none does."""
    listing = scene.world.listing_by(unit, scene.since) if scene.world.recalls else {}
    openings = bearing(unit, listing, scene.world.recalls) if scene.world.recalls else ()
    marks = [mark for opening in openings for mark in _asked(opening, scene)]
    if not marks:
        return always(scene.since, scene.until, "out-of-scope", SOURCE)
    return steps(scene.since, scene.until, overlay(scene.since, marks, "out-of-scope"), SOURCE)


def _asked(opening: Opening, scene: Scene) -> Iterator[Mark]:
    """Give the moments from which on an opening asks something, and something more."""
    if opening.action == "stop-use":
        yield opening.at, "do-not-use", ("recall",), (opening.event,)
        return
    yield opening.at, "in-date", (), (opening.event,)
    if opening.action == "information":
        return
    end = opening.at
    if opening.due_on is not None:
        due = scene.end_of_day(opening.due_on)
        end = max(end, due)
        yield max(opening.at, scene.earlier(due, DUE_SOON)), "due-soon", (), (opening.event,)
    yield end, "overdue", ("recall",), (opening.event,)
