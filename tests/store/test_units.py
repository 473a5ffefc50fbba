import random
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import msgspec
import pytest

from service.store.intervals_between import UnitInterval, intervals_between
from service.store.kin_write import IntervalRow, UnitRow, UseRow
from service.store.scope import writing
from service.store.uses_made import SiteUses, uses_made
from tests.store.making import NOON, Desk, a_kin, a_unit, an_entry, appended, minutes, rows, unit_id

OTHER = {"site": "other-site", "model": "m-2", "phase": "missing", "standing": "do-not-use"}


def span(since: datetime, until: datetime | None, **changes: Any) -> IntervalRow:
    """Make an interval."""
    [made] = a_unit("FX-1").intervals
    return msgspec.structs.replace(made, since=since, until=until, **changes)


async def fleet(desk: Desk, *units: UnitRow) -> None:
    """Write units, each a kin of its own."""
    await appended(
        desk,
        [an_entry(unit.tag) for unit in units],
        [a_kin(unit.tag, units=(unit,), dependencies=()) for unit in units],
    )


async def two_units(desk: Desk) -> None:
    """Write a unit that is in date, overdue after ten minutes, and one that is missing at another site."""
    turns = (span(NOON, minutes(10)), span(minutes(10), None, standing="overdue", rules=b"late", do_not_use=True))
    gone = (span(minutes(-60), None, **OTHER, in_scope=False, do_not_use=True, rules=b""),)
    await fleet(desk, a_unit("FX-1", intervals=turns), a_unit("FX-2", intervals=gone))


async def test_intervals_of_every_length_are_found(desk: Desk) -> None:
    """Over lengths from seconds to decades, each moment finds exactly the intervals that hold then."""
    dice = random.Random(4)  # noqa: S311 - a fixed seed, so that a failure can be had again
    units = []
    for number in range(60):
        cuts = [NOON]
        while len(cuts) < 12:
            cuts.append(cuts[-1] + timedelta(seconds=dice.choice([1, 60, 3600, 14400, 10**5, 10**6, 10**7, 10**8])))
        ends = [*cuts[1:], None]
        intervals = tuple(
            span(since, until, rules=bytes([place]))
            for place, (since, until) in enumerate(zip(cuts, ends, strict=True))
        )
        units.append(a_unit(f"FX-{number:02d}", intervals=intervals))
    await fleet(desk, *units)
    edges = [row.since for unit in units for row in unit.intervals]
    moments = [edge + timedelta(seconds=shift) for edge in dice.sample(edges, 20) for shift in (-1, 0, 1)]
    async with writing(desk.pool, desk.organisation) as conn:
        for moment in moments:
            expected = {
                (unit.unit, row.rules)
                for unit in units
                for row in unit.intervals
                if row.since <= moment and (row.until is None or moment < row.until)
            }
            found = await intervals_between(conn, desk.organisation, moment, moment + timedelta(microseconds=1))
            assert {(row.unit, row.rules) for row in found} == expected
            assert len(found) == len(expected)


@pytest.mark.parametrize(
    ("hours", "expected"),
    [(0.99, 0), (1, 1), (3.99, 1), (4, 2), (16, 3), (65535, 8), (65536, 9), (262143, 9), (262144, 10), (None, 10)],
)
async def test_lengths_fall_into_steps_of_four(desk: Desk, hours: float | None, expected: int) -> None:
    """The step of an interval's length is the smallest power of four hours that it does not reach."""
    until = None if hours is None else NOON + timedelta(hours=hours)
    await fleet(desk, a_unit("FX-1", intervals=(span(NOON, until),)))
    assert await rows(desk, "SELECT span FROM ledger.standing_interval") == [(expected,)]


async def test_standing_over_a_period_is_given_whole(desk: Desk) -> None:
    """Intervals that reach into a period come back uncut, by unit and in order."""
    await two_units(desk)
    async with writing(desk.pool, desk.organisation) as conn:

        async def found(since: int, until: int, **narrowed: Any) -> list[tuple[UUID, int, str]]:
            period = (minutes(since), minutes(until))
            intervals = await intervals_between(conn, desk.organisation, *period, **narrowed)
            return [(row.unit, int((row.since - NOON).total_seconds() // 60), row.standing) for row in intervals]

        first, second = unit_id("FX-1"), unit_id("FX-2")
        both = [(first, 0, "in-date"), (first, 10, "overdue"), (second, -60, "do-not-use")]
        assert await found(5, 15) == both
        assert await found(0, 10) == [both[0], both[2]]
        assert await found(10, 11) == both[1:]
        assert await found(-100, -60) == []
        assert await found(5, 15, sites=["other-site"]) == both[2:]
        assert await found(5, 15, units=[first]) == both[:2]
        [whole] = await intervals_between(conn, desk.organisation, minutes(20), minutes(30), units=[first])
    assert whole == UnitInterval(
        unit=first,
        since=minutes(10),
        until=None,
        site="harrow-dock",
        model="m-1",
        phase="issued",
        in_scope=True,
        standing="overdue",
        do_not_use=True,
        rules=b"late",
    )


async def test_uses_are_counted_by_site(desk: Desk) -> None:
    """Each site has its own period, half-open; a site without uses has zeros, and what counts not is no use."""
    uses = [
        UseRow(at=minutes(at), site="harrow-dock", lapse=minutes(at) if at == 2 else None, ref=UUID(int=nth))
        for nth, at in enumerate((1, 2, 2, 3))
    ]
    beside = UseRow(at=minutes(2), site="harrow-dock", lapse=None, ref=UUID(int=8), worn=True, counted=False)
    elsewhere = UseRow(at=minutes(2), site="other-site", lapse=minutes(60), ref=UUID(int=9))
    await fleet(desk, a_unit("FX-1", uses=(*uses[:3], elsewhere, beside, uses[3])))
    periods = [
        ("other-site", NOON, minutes(60)),
        ("harrow-dock", minutes(2), minutes(3)),
        ("no-site", NOON, minutes(60)),
    ]
    async with writing(desk.pool, desk.organisation) as conn:
        none = SiteUses(site="no-site", model="", covered=0, made=0)
        assert await uses_made(conn, desk.organisation, periods, without=[]) == [
            SiteUses(site="harrow-dock", model="", covered=0, made=2),
            none,
            SiteUses(site="other-site", model="", covered=1, made=1),
        ]
        assert await uses_made(conn, desk.organisation, periods, without=[unit_id("FX-1")]) == [
            SiteUses(site="harrow-dock", model="", covered=0, made=0),
            none,
            SiteUses(site="other-site", model="", covered=0, made=0),
        ]
