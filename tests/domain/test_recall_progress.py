"""How far a recall has come, day by day, and how long it took."""

from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from service.domain.event import AssetEvent
from service.domain.kinds import KINDS
from service.domain.recall.progress import Course, Day, progress
from service.domain.recall.rehearsal import MOST, Took, pace
from service.domain.recall.sighting import SIGHTINGS


def on(day: int, hour: int = 12) -> datetime:
    """Give a moment of March 2026."""
    return datetime(2026, 3, day, hour, tzinfo=UTC)


def course(site: str = "dock", **steps: object) -> Course:
    """Give the course of a unit that came under the recall on the second."""
    plain: dict[str, object] = dict.fromkeys(("located", "stopped", "remedied", "ended"))
    return msgspec.convert({"site": site, "since": on(2), "away": ()} | plain | steps, Course)


def test_days_add_up() -> None:
    """A day is told if anything changed on it, with all that came before it; a site by itself."""
    courses = [
        course(located=on(2, 14), stopped=on(2, 13), away=((on(3), None),), remedied=on(5), ended=on(5)),
        course(located=on(3)),
        course("yard"),
    ]
    told = progress(courses, lambda at, _: at.date())

    assert told == [
        Day("dock", date(2026, 3, 2), located=1, stopped=1, put_away=0, remedied=0, outstanding=2),
        Day("dock", date(2026, 3, 3), located=2, stopped=1, put_away=1, remedied=0, outstanding=2),
        Day("dock", date(2026, 3, 5), located=2, stopped=1, put_away=1, remedied=1, outstanding=1),
        Day("yard", date(2026, 3, 2), located=0, stopped=0, put_away=0, remedied=0, outstanding=1),
    ]


def test_progress_falls_when_a_unit_is_issued_again_or_comes_under_it_anew() -> None:
    """Put away counts as long as it lasts; with another piece of the lot nothing is done yet about that one."""
    before = course(
        located=on(3), stopped=on(3), away=((on(3), on(4)),), remedied=on(4, 14), ended=on(4, 14), again=on(5)
    )
    told = progress([before, course(since=on(5))], lambda at, _: at.date())

    assert told == [
        Day("dock", date(2026, 3, 2), located=0, stopped=0, put_away=0, remedied=0, outstanding=1),
        Day("dock", date(2026, 3, 3), located=1, stopped=1, put_away=1, remedied=0, outstanding=1),
        Day("dock", date(2026, 3, 4), located=1, stopped=1, put_away=0, remedied=1, outstanding=0),
        Day("dock", date(2026, 3, 5), located=0, stopped=0, put_away=0, remedied=0, outstanding=1),
    ]


def test_what_ended_before_it_began_was_never_outstanding() -> None:
    """A unit that was retired before the recall was opened is outstanding on no day."""
    assert [day.outstanding for day in progress([course(ended=on(1))], lambda at, _: at.date())] == [0]


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
