"""Unit-days and units that stand alike, counted by the database: spelled out, and against a count day by day."""

import random
from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from uuid import UUID

from service.store.kin_write import IntervalRow, UnitRow
from service.store.scope import writing
from service.store.standing_counts import StandingCount, standing_counts
from service.store.unit_days import Span, Stretch, unit_days
from tests.store.making import NOON, Desk, a_kin, a_unit, an_entry, appended, minutes, unit_id
from tests.store.racing import dice_of
from tests.store.test_units import span

MIDNIGHT = NOON - timedelta(hours=12)
DAYS = [MIDNIGHT + timedelta(days=number) for number in range(6)]
"""Days of a zone; the last begins two hours before the end."""
END = DAYS[-1] + timedelta(hours=2)
AWAY = DAYS[0] + timedelta(hours=5)
"""When the first day of another zone begins."""
ZONES = {"harrow-dock": "here", "other-site": "there"}


async def write(desk: Desk, *units: UnitRow) -> None:
    """Write units, each a kin of its own."""
    await appended(
        desk,
        [an_entry(unit.tag) for unit in units],
        [a_kin(unit.tag, units=(unit,), dependencies=()) for unit in units],
    )


async def counted(
    desk: Desk, *, models: bool = False, instead: Sequence[Span] = (), without: Sequence[UUID] = ()
) -> dict[tuple[str, str], tuple[int, int]]:
    """Give compliant and all unit-days by site and model."""
    begins = {"here": DAYS, "there": [AWAY + timedelta(days=number) for number in range(5)]}
    async with writing(desk.pool, desk.organisation) as conn:
        rows = await unit_days(
            conn,
            desk.organisation,
            Stretch(begins, ZONES, END),
            compliant=["in-date", "due-soon"],
            models=models,
            instead=instead,
            without=without,
        )
    return {(row.site, row.model): (row.compliant, row.every) for row in rows}


def day(number: int, hour: int = 0) -> datetime:
    """Give an hour of a day here."""
    return DAYS[number] + timedelta(hours=hour)


async def test_a_day_is_compliant_only_if_it_was_throughout(desk: Desk) -> None:
    """Overdue from the evening of the third day to the next noon spoils both days; what goes on counts to the end."""
    turns = (
        span(day(0, -40), day(2, 20)),
        span(day(2, 20), day(3, 12), standing="overdue"),
        span(day(3, 12), None, standing="due-soon"),
    )
    await write(desk, a_unit("FX-1", intervals=turns))
    assert await counted(desk) == {("harrow-dock", ""): (4, 6)}


async def test_several_turns_of_one_day_are_one_day(desk: Desk) -> None:
    """In and out of date four times between breakfast and supper, it was one day, and no compliant one."""
    cuts = [day(1, 6), day(1, 7), day(1, 9), day(1, 12), day(1, 18)]
    turns = tuple(
        span(since, until, standing="in-date" if number % 2 else "overdue")
        for number, (since, until) in enumerate(pairwise(cuts))
    )
    await write(desk, a_unit("FX-1", intervals=turns))
    assert await counted(desk) == {("harrow-dock", ""): (0, 1)}


async def test_what_is_out_of_scope_is_no_day(desk: Desk) -> None:
    """Stored for two whole days in between, those are left out; a day on which it went into store still counts."""
    turns = (
        span(day(0, -1), day(1, 8)),
        span(day(1, 8), day(4, 0), in_scope=False, standing="out-of-scope"),
        span(day(4, 0), None),
    )
    await write(desk, a_unit("FX-1", intervals=turns))
    assert await counted(desk) == {("harrow-dock", ""): (4, 4)}


async def test_a_day_is_that_of_the_site(desk: Desk) -> None:
    """Moved at eight in the morning the day is one of both sites; each counts its own days, by its own midnights."""
    turns = (span(day(0, -1), day(2, 8)), span(day(2, 8), None, site="other-site", model="m-2"))
    await write(desk, a_unit("FX-1", intervals=turns))
    assert await counted(desk) == {("harrow-dock", ""): (3, 3), ("other-site", ""): (3, 3)}
    assert await counted(desk, models=True) == {("harrow-dock", "m-1"): (3, 3), ("other-site", "m-2"): (3, 3)}


async def test_what_is_told_instead_counts_for_units_left_out(desk: Desk) -> None:
    """A unit folded in memory counts as it was folded, beside those that are stored, and once."""
    await write(desk, a_unit("FX-1", intervals=(span(day(0, -1), None),)), a_unit("FX-2"))
    told = Span(unit_id("FX-1"), "harrow-dock", "m-1", day(4, 3), None, compliant=False)
    assert await counted(desk, without=[unit_id("FX-1"), unit_id("FX-2")]) == {}
    assert await counted(desk, instead=[told], without=[unit_id("FX-1"), unit_id("FX-2")]) == {
        ("harrow-dock", ""): (0, 2)
    }


async def test_any_history_counts_as_it_does_day_by_day(desk: Desk) -> None:
    """Forty random units: the same as noting each day of each span, one after the other."""
    dice = dice_of(11)
    units = [a_unit(f"FX-{number:02d}", intervals=a_history(dice)) for number in range(40)]
    await write(desk, *units)
    for models in (False, True):
        assert await counted(desk, models=models) == by_days(units, models=models)


def a_history(dice: random.Random) -> tuple[IntervalRow, ...]:
    """Make up a history of some weeks, in turns of minutes to days."""
    cuts = [DAYS[0] - timedelta(hours=dice.randrange(200))]
    while cuts[-1] < END and len(cuts) < 40:
        cuts.append(cuts[-1] + timedelta(minutes=dice.choice([5, 50, 300, 720, 1440, 4000])))
    return tuple(
        span(
            since,
            until,
            standing=dice.choice(["in-date", "due-soon", "overdue", "do-not-use"]),
            in_scope=dice.random() < 0.8,
            site=dice.choice(list(ZONES)),
            model=dice.choice(["m-1", "m-2"]),
        )
        for since, until in zip(cuts, [*cuts[1:], None], strict=True)
    )


def by_days(units: Sequence[UnitRow], *, models: bool) -> dict[tuple[str, str], tuple[int, int]]:
    """Count day by day."""
    spoiled: dict[tuple[str, str, str, datetime], bool] = {}
    for unit in units:
        for one in unit.intervals:
            first = DAYS[0] if one.site == "harrow-dock" else AWAY
            while one.in_scope and first < END:
                following = first + timedelta(days=1)
                if one.since < min(following, END) and (one.until is None or one.until > first):
                    key = (one.site, one.model if models else "", unit.tag, first)
                    spoiled[key] = spoiled.get(key, False) or one.standing not in {"in-date", "due-soon"}
                first = following
    every = Counter(key[:2] for key in spoiled)
    good = Counter(key[:2] for key, bad in spoiled.items() if not bad)
    return {key: (good[key], count) for key, count in every.items()}


async def test_units_that_stand_alike_are_one_count(desk: Desk) -> None:
    """By site, phase, standing and rules at the moment, without those left out; models are told apart if asked."""
    late = span(NOON, minutes(10)), span(minutes(10), None, standing="overdue", rules=b"late", model="m-2")
    await write(desk, a_unit("FX-1"), a_unit("FX-2"), a_unit("FX-3", intervals=late), a_unit("FX-4"))
    async with writing(desk.pool, desk.organisation) as conn:
        asked = (conn, desk.organisation, minutes(10))
        found = await standing_counts(*asked, sites=None, models=False, without=[unit_id("FX-4")])
        there = await standing_counts(*asked, sites=["other-site"], models=False, without=[])
        apart = await standing_counts(*asked, sites=["harrow-dock"], models=True, without=[])

    [one] = a_unit("FX-1").intervals
    assert sorted(found, key=lambda row: row.units) == [
        StandingCount("harrow-dock", "", one.phase, in_scope=True, standing="overdue", rules=b"late", units=1),
        StandingCount("harrow-dock", "", one.phase, in_scope=True, standing="in-date", rules=one.rules, units=2),
    ]
    assert there == []
    assert {(row.model, row.standing): row.units for row in apart} == {("m-1", "in-date"): 3, ("m-2", "overdue"): 1}
