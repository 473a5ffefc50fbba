"""When what is fitted will be changed: from its loading, its limits and the life it is said to have.

The first of these counts: a recall, its shelf life, its days, hours and shifts of service, its days since opening, a
day on which it is planned, and the day on which its loading will reach the mark at which it is changed. The loading is
drawn out in a straight line, since readings are steps of a coarse scale; a better estimate will come, behind the same
function. What a firm or a maker says a part lasts is used only where there is no reading to go by. What a part may
serve is judged elsewhere, by the rule of filter life: here nothing is allowed or forbidden.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from math import floor
from typing import Literal

import msgspec

Ground = Literal["recall", "expiry", "service-limit", "schedule", "loading", "stated-life"]
FAR = 36_500
"""Days past which nothing is foretold."""


class Reading(msgspec.Struct, frozen=True):
    """A reading of the loading, on the model's scale, and its day."""

    on: date
    level: float


class Life(msgspec.Struct, frozen=True):
    """What ends a part of its kind: days of service, hours, shifts, days since opening, or the loading `change_at`.

    `stated_days` is how long it is said to last.
    """

    days: int | None = None
    hours: float | None = None
    shifts: int | None = None
    after_opening_days: int | None = None
    stated_days: int | None = None
    change_at: float | None = None


class Pace(msgspec.Struct, frozen=True):
    """How much the unit is used in a day, days off included."""

    uses: float = 0.0
    hours: float = 0.0


class InPlace(msgspec.Struct, frozen=True):
    """A part where it sits: `place` names the unit and position, `hours` and `shifts` what it has served by today.

    `readings` are those since it was fitted, in any order. `refitted` parts were not clean when fitted. `planned_on` is
    a day on which it is changed in any case, as at a due examination. `recalled` ones are replaced under an open
    recall.
    """

    place: str
    item: str
    fitted_on: date
    expires: date | None = None
    opened_on: date | None = None
    hours: float = 0.0
    shifts: float = 0.0
    readings: tuple[Reading, ...] = ()
    refitted: bool = False
    planned_on: date | None = None
    recalled: bool = False


class Change(msgspec.Struct, frozen=True):
    """A change that is expected: where, of what, on which day (today if it is owed), and why.

    `every` is the days that the part after it will last, for the changes that follow; None where nothing tells.
    """

    place: str
    item: str
    on: date
    because: Ground
    every: int | None = None


def expected_change(part: InPlace, life: Life, pace: Pace, today: date) -> Change | None:
    """Give the day on which a part will be changed; None where nothing tells."""
    ends = (*_dated(part, life, today), *_served(part, life, pace), *_loaded(part, life, today))
    near = [end for end in ends if end[0] <= FAR]
    if not near:
        return None
    days, because = min(near, key=lambda end: end[0])
    return Change(part.place, part.item, today + timedelta(days=days), because, _next(part, life, pace))


def _dated(part: InPlace, life: Life, today: date) -> Iterator[tuple[int, Ground]]:
    """Give the days from today, none below zero, to what stands in the calendar."""
    stated = life.stated_days if _gain(part) is None or life.change_at is None else None
    opened = part.opened_on or part.fitted_on
    ends: tuple[tuple[date | None, int | None, Ground], ...] = (
        (today, 0 if part.recalled else None, "recall"),
        (part.expires, 0, "expiry"),
        (part.fitted_on, life.days, "service-limit"),
        (opened, life.after_opening_days, "service-limit"),
        (part.planned_on, 0, "schedule"),
        (part.fitted_on, stated, "stated-life"),
    )
    for start, days, because in ends:
        if start is not None and days is not None:
            yield max(0, (start - today).days + days), because


def _served(part: InPlace, life: Life, pace: Pace) -> Iterator[tuple[int, Ground]]:
    """Give the days until its hours and shifts are served."""
    if life.hours is not None:
        yield _whole(life.hours - part.hours, pace.hours), "service-limit"
    if life.shifts is not None:
        yield _whole(life.shifts - part.shifts, pace.uses), "service-limit"


def _loaded(part: InPlace, life: Life, today: date) -> Iterator[tuple[int, Ground]]:
    """Give the days until its loading reaches the mark, counted from the newest reading."""
    gain = _gain(part)
    if life.change_at is not None and gain is not None:
        newest = max(part.readings, key=_in_order)
        left = _whole(life.change_at - newest.level, gain)
        if left <= FAR:
            yield max(0, left - (today - newest.on).days), "loading"


def _in_order(reading: Reading) -> tuple[date, float]:
    return reading.on, reading.level


def _whole(left: float, in_a_day: float) -> int:
    """Give the whole days that so much lasts, cut: a change is foretold early rather than late."""
    if left <= 0:
        return 0
    return FAR + 1 if left > in_a_day * FAR else floor(left / in_a_day)


def _gain(part: InPlace) -> float | None:
    """Give the loading gained in a day, by least squares through the first point known; None without two days.

    A new part was clean on the day it was fitted; of a refitted one the first reading is the beginning.
    """
    readings = sorted(part.readings, key=_in_order)
    if not readings:
        return None
    start = readings[0] if part.refitted else Reading(part.fitted_on, 0)
    steps = [((reading.on - start.on).days, reading.level - start.level) for reading in readings]
    squares = sum(days * days for days, _ in steps)
    return sum(days * gained for days, gained in steps) / squares if squares else None


def _next(part: InPlace, life: Life, pace: Pace) -> int | None:
    """Give the days that a new part in this place will last: by its limits, and the loading gained so far."""
    gain = _gain(part)
    served = ((life.hours, pace.hours), (life.shifts, pace.uses), (life.change_at, gain or 0.0))
    spans = [_whole(limit, in_a_day) for limit, in_a_day in served if limit is not None]
    spans += [days for days in (life.days, life.after_opening_days) if days is not None]
    if life.stated_days is not None and (gain is None or life.change_at is None):
        spans.append(life.stated_days)
    last = min(spans, default=FAR + 1)
    return None if last > FAR else max(1, last)
