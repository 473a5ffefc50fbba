from datetime import date
from typing import Any

import pytest

from service.domain.demand.changes import Change, Ground, InPlace, Life, Pace, Reading, expected_change

TODAY = date(2026, 3, 2)
FITTED = date(2026, 2, 10)  # twenty days ago
NO_PACE = Pace()


def part(**known: Any) -> InPlace:
    """Give a part that was fitted twenty days ago."""
    return InPlace("unit-1 particle-filter", "pf-170", FITTED, **known)


def readings(*levels: tuple[int, float]) -> tuple[Reading, ...]:
    """Give readings by the day of February."""
    return tuple(Reading(date(2026, 2, day), level) for day, level in levels)


@pytest.mark.parametrize(
    ("fitted", "life", "pace", "on", "because", "every"),
    [
        (part(expires=date(2026, 3, 31)), Life(), NO_PACE, date(2026, 3, 31), "expiry", None),
        (part(expires=date(2026, 3, 1)), Life(), NO_PACE, TODAY, "expiry", None),  # owed: today
        (part(), Life(days=30), NO_PACE, date(2026, 3, 12), "service-limit", 30),
        (part(), Life(days=19), NO_PACE, TODAY, "service-limit", 19),
        (part(), Life(after_opening_days=30), NO_PACE, date(2026, 3, 12), "service-limit", 30),
        (part(opened_on=date(2026, 2, 1)), Life(after_opening_days=30), NO_PACE, date(2026, 3, 3), "service-limit", 30),
        (part(hours=100), Life(hours=400), Pace(hours=7), date(2026, 4, 13), "service-limit", 57),  # 42 days, cut
        (part(hours=400), Life(hours=400), NO_PACE, TODAY, "service-limit", None),
        (part(hours=399), Life(hours=400), Pace(hours=0.25), date(2026, 3, 6), "service-limit", 1600),
        (part(), Life(shifts=36500), Pace(uses=1), date(2126, 2, 6), "service-limit", 36500),  # no farther than that
        (part(shifts=10), Life(shifts=50), Pace(uses=1.25), date(2026, 4, 3), "service-limit", 40),
        (part(planned_on=date(2026, 3, 15)), Life(), NO_PACE, date(2026, 3, 15), "schedule", None),
        (part(), Life(stated_days=60), NO_PACE, date(2026, 4, 11), "stated-life", 60),
        (part(recalled=True), Life(days=30), NO_PACE, TODAY, "recall", 30),
        (part(recalled=True, expires=date(2026, 2, 1)), Life(), NO_PACE, TODAY, "recall", None),
        (part(), Life(days=30, after_opening_days=25, stated_days=27), NO_PACE, date(2026, 3, 7), "service-limit", 25),
    ],
)
def test_the_first_end_counts(
    fitted: InPlace, life: Life, pace: Pace, on: date, because: Ground, every: int | None
) -> None:
    """Each ground by itself, then several; what is owed is due today."""
    change = expected_change(fitted, life, pace, TODAY)
    assert change == Change("unit-1 particle-filter", "pf-170", on, because, every)


@pytest.mark.parametrize(
    ("fitted", "on", "every"),
    [
        (part(readings=readings((20, 1))), date(2026, 3, 12), 30),  # a tenth a day: two more levels take 20 days
        (part(readings=readings((20, 1), (15, 0.5))), date(2026, 3, 12), 30),  # in any order
        (part(readings=readings((15, 1), (20, 1))), date(2026, 3, 8), 25),  # by least squares 15 levels in 125 days
        (part(readings=readings((20, 3))), TODAY, 10),  # at the mark
        (part(readings=readings((20, 4))), TODAY, 7),
        (part(refitted=True, readings=readings((10, 1), (20, 2))), date(2026, 3, 2), 30),  # ten days after the 20th
        (part(refitted=True, readings=readings((12, 1), (20, 1.5))), date(2026, 3, 16), 48),
    ],
)
def test_loading_is_drawn_out(fitted: InPlace, on: date, every: int) -> None:
    """In a straight line to the mark of 3, from a clean filter or from the first reading of a refitted one."""
    assert expected_change(fitted, Life(change_at=3), NO_PACE, TODAY) == Change(
        "unit-1 particle-filter", "pf-170", on, "loading", every
    )


def test_a_reading_is_better_than_a_stated_life() -> None:
    """What it is said to last counts only where no reading tells, or no mark is known."""
    read = part(readings=readings((20, 1)))
    by_reading = expected_change(read, Life(change_at=3, stated_days=21), NO_PACE, TODAY)
    unmarked = expected_change(read, Life(stated_days=21), NO_PACE, TODAY)
    unread = expected_change(part(), Life(change_at=3, stated_days=21), NO_PACE, TODAY)
    assert by_reading == Change("unit-1 particle-filter", "pf-170", date(2026, 3, 12), "loading", 30)
    assert unmarked == unread == Change("unit-1 particle-filter", "pf-170", date(2026, 3, 3), "stated-life", 21)


@pytest.mark.parametrize(
    ("fitted", "life", "pace"),
    [
        (part(), Life(), Pace(uses=1, hours=8)),
        (part(), Life(hours=400, shifts=50), NO_PACE),  # it is not used
        (part(), Life(hours=4000), Pace(hours=0.1)),  # in more than a hundred years
        (part(), Life(shifts=36501), Pace(uses=1)),
        (part(expires=date(2126, 2, 7)), Life(), NO_PACE),
        (part(), Life(change_at=3), NO_PACE),  # no reading
        (part(readings=readings((10, 1))), Life(change_at=3), NO_PACE),  # read on the day it was fitted
        (part(readings=readings((20, 0))), Life(change_at=3), NO_PACE),  # it does not load
        (part(refitted=True, readings=readings((20, 1))), Life(change_at=3), NO_PACE),  # one reading is no line
        (part(refitted=True, readings=readings((12, 2), (20, 1))), Life(change_at=3), NO_PACE),
    ],
)
def test_where_nothing_tells_nothing_is_foretold(fitted: InPlace, life: Life, pace: Pace) -> None:
    """None, not a guess."""
    assert expected_change(fitted, life, pace, TODAY) is None


def test_a_life_of_less_than_a_day_is_a_day() -> None:
    """So that changes to follow can be counted."""
    change = expected_change(part(hours=1), Life(hours=4), Pace(hours=8), TODAY)
    assert change == Change("unit-1 particle-filter", "pf-170", TODAY, "service-limit", 1)


def test_a_century_ahead_is_foretold_and_no_day_more() -> None:
    """A level a day: 36,500 are left to the mark, or one more."""
    read = part(readings=(Reading(TODAY, 20),))
    known = expected_change(read, Life(change_at=36520), NO_PACE, TODAY)
    assert known == Change("unit-1 particle-filter", "pf-170", date(2126, 2, 6), "loading", None)
    assert expected_change(read, Life(change_at=36521), NO_PACE, TODAY) is None
