"""How far a recall has come, day by day, and how long it took."""

from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from service.domain.event import AssetEvent
from service.domain.kinds import KINDS
from service.domain.recall.progress import Course, Day, Place, Step, progress
from service.domain.recall.rehearsal import MOST, Took, pace
from service.domain.recall.sighting import SIGHTINGS
from service.domain.stretches import Stretch, joined, shared


def on(day: int, hour: int = 12) -> datetime:
    """Give a moment of March 2026."""
    return datetime(2026, 3, day, hour, tzinfo=UTC)


def course(*places: Place, **steps: tuple[tuple[datetime, datetime | None], ...]) -> Course:
    """Give the course of a unit that came under the recall on the second; at the dock if no place is given."""
    plain: dict[Step, tuple[Stretch, ...]] = {"outstanding": ((on(2), None),)}
    return Course(
        places or (Place(on(1), None, "dock"),), plain | msgspec.convert(steps, dict[Step, tuple[Stretch, ...]])
    )


def by_utc(at: datetime, _site: str) -> date:
    """Give the day of a moment at a site whose days are those of UTC."""
    return at.date()


def test_days_add_up() -> None:
    """A day is told if anything changed on it, with all that came before it; a site by itself."""
    courses = [
        course(
            located=((on(2, 14), None),),
            stopped=((on(2, 13), None),),
            put_away=((on(3), None),),
            remedied=((on(5), None),),
            outstanding=((on(2), on(5)),),
        ),
        course(located=((on(3), None),)),
        course(Place(on(1), None, "yard")),
    ]

    assert progress(courses, by_utc) == [
        Day("dock", date(2026, 3, 2), located=1, stopped=1, put_away=0, remedied=0, outstanding=2),
        Day("dock", date(2026, 3, 3), located=2, stopped=1, put_away=1, remedied=0, outstanding=2),
        Day("dock", date(2026, 3, 5), located=2, stopped=1, put_away=1, remedied=1, outstanding=1),
        Day("yard", date(2026, 3, 2), located=0, stopped=0, put_away=0, remedied=0, outstanding=1),
    ]


def test_a_unit_counts_at_the_site_where_it_was() -> None:
    """Stopped at the dock, moved to the yard and remedied there: on each day it is counted where it was at its end."""
    moved = course(
        Place(on(1), on(4), "dock"),
        Place(on(4), None, "yard"),
        stopped=((on(3), None),),
        remedied=((on(5), None),),
        outstanding=((on(2), on(5)),),
    )
    dock, yard = [moved.at(frozenset({site})) for site in ("dock", "yard")]
    told = progress([moved], by_utc)

    assert told == [
        Day("dock", date(2026, 3, 2), located=0, stopped=0, put_away=0, remedied=0, outstanding=1),
        Day("dock", date(2026, 3, 3), located=0, stopped=1, put_away=0, remedied=0, outstanding=1),
        Day("dock", date(2026, 3, 4), located=0, stopped=0, put_away=0, remedied=0, outstanding=0),
        Day("yard", date(2026, 3, 4), located=0, stopped=1, put_away=0, remedied=0, outstanding=1),
        Day("yard", date(2026, 3, 5), located=0, stopped=1, put_away=0, remedied=1, outstanding=0),
    ]
    assert [*progress([dock], by_utc), *progress([yard], by_utc)] == told


def test_a_day_on_which_nothing_changed_is_not_told() -> None:
    """One stretch followed another at once, and one unit came as another went; one that came for an hour was there."""
    courses = [
        course(located=((on(2), on(3)), (on(3), None))),
        course(Place(on(1), on(4), "dock")),
        course(Place(on(4), None, "dock")),
        course(Place(on(5, 9), on(5, 10), "dock")),
        course(Place(on(6), None, "dock")),
    ]
    told = progress(courses, by_utc)
    assert [(one.day.day, one.located, one.outstanding) for one in told] == [
        (2, 1, 2),
        (5, 1, 2),
        (6, 1, 3),
    ]


def test_the_day_of_a_move_is_that_of_each_site() -> None:
    """Left at one o'clock in the night by UTC: at the one site that was the day before."""
    moved = course(Place(on(1), on(4, 1), "west"), Place(on(4, 1), None, "dock"))
    told = progress([moved], lambda at, site: (at - timedelta(hours=6 if site == "west" else 0)).date())

    assert [(one.site, one.day.day, one.outstanding) for one in told] == [
        ("dock", 4, 1),
        ("west", 2, 1),
        ("west", 3, 0),
    ]


def test_stretches_that_touch_are_one_and_those_shared_lie_in_both() -> None:
    """Half-open: what ends as another begins touches it, and shares nothing with it."""
    assert joined([(on(4), None), (on(1), on(2)), (on(2), on(3)), (on(5), on(6))]) == [(on(1), on(3)), (on(4), None)]
    assert [*shared([(on(1), on(3)), (on(5), None)], [(on(3), on(4)), (on(2), on(9))])] == [
        (on(2), on(3)),
        (on(5), on(9)),
    ]


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [
        ([], (0, 0, None, None, None)),
        ([1], (1, 1, 60, 60, 60)),
        ([1, None], (1, 2, 60, None, None)),
        ([1, None, None], (1, 3, None, None, None)),
        ([3, 1, 2], (3, 3, 120, 180, 180)),
        ([*range(1, 11)], (10, 10, 300, 540, 600)),
        ([*range(1, 10), None], (9, 10, 300, 540, None)),
    ],
)
def test_those_not_found_count_as_slower_than_any(
    minutes: list[int | None], expected: tuple[int, int, int | None, int | None, int | None]
) -> None:
    """Of all units half, 90 of 100 and all, by nearest rank; where so many have not come there is no number."""
    told = pace(
        Took(f"U-{nth}", "dock", None if one is None else timedelta(minutes=one)) for nth, one in enumerate(minutes)
    )

    assert (told.done, told.of, told.median_seconds, told.p90_seconds, told.max_seconds) == expected


@pytest.mark.parametrize(
    ("done", "of", "median", "p90", "slowest"),
    [
        (0, 0, None, None, None),
        (1, 1, 1, 1, 1),
        (2, 2, 1, 2, 2),
        (3, 3, 2, 3, 3),
        (10, 10, 5, 9, 10),
        (11, 11, 6, 10, 11),
        (100, 100, 50, 90, 100),
        (200, 200, 100, 180, 200),
        (99, 100, 50, 90, None),
        (90, 100, 50, 90, None),
        (89, 100, 50, None, None),
        (49, 100, None, None, None),
    ],
)
def test_ranks_are_those_of_all_units(
    done: int, of: int, median: int | None, p90: int | None, slowest: int | None
) -> None:
    """Of a hundred the fiftieth, the ninetieth and the last; where fewer have come so far there is none."""
    took = [Took("U", "dock", timedelta(seconds=nth) if nth <= done else None) for nth in range(1, of + 1)]
    told = pace(took)
    assert (told.done, told.of) == (done, of)
    assert (told.median_seconds, told.p90_seconds, told.max_seconds) == (median, p90, slowest)


def test_the_slowest_are_named() -> None:
    """At most ten of them, the slowest first."""
    told = pace(Took(f"U-{nth:02}", "dock", timedelta(seconds=nth)) for nth in range(15))

    assert [one.asset for one in told.slowest] == [f"U-{nth:02}" for nth in range(14, 4, -1)]
    assert len(told.slowest) == MOST


def test_sightings_are_what_is_done_by_hand() -> None:
    """The kinds by which a unit is located are those whose example has it in hand, or found."""
    examples = [msgspec.convert(kind.example, kind) for kind in KINDS if issubclass(kind, AssetEvent)]
    shown = [event.kind for event in examples if event.handles() or event.shows_site()]

    assert list(SIGHTINGS) == shown
    assert {"quarantined", "found", "checked"} < set(shown)
    assert not {"missing", "retired", "released", "registered"} & set(shown)
