"""How long whoever wore a unit may have had it on."""

from datetime import datetime
from typing import Any

import pytest

from service.domain.holder import Holder
from service.domain.recall.wearings import Wearing, lasting, wearings
from service.domain.standing import FOREVER
from service.domain.stays import Stay
from service.domain.wearing import Use
from tests.domain.units import at, event

NOW = at(20)


def use(hours: float, person: str | None = "p-1", until: float | None = None, **fields: Any) -> Use:
    """Wear the unit from so many hours after noon on."""
    given: dict[str, Any] = {"worn": True, "until": None if until is None else at(until)} | fields
    return Use(at(hours), "dock", None, event(1), person, **given)


def hand(since: float, until: float | None, person: str = "p-1", site: str = "dock") -> Stay:
    """Have the unit in a hand."""
    ends = FOREVER if until is None else at(until)
    return Stay(None, at(since), at(since), ends, holder=Holder(person=person), site=site)


def told(uses: list[Use], stays: list[Stay], now: datetime = NOW) -> list[Wearing]:
    """Give the wearings of a unit."""
    return list(wearings(uses, stays, now))


def ends(uses: list[Use], stays: list[Stay]) -> list[float | None]:
    """Give until when each may have lasted, in hours after noon."""
    return [None if one.ends is None else (one.ends - at(0)).total_seconds() / 3600 for one in told(uses, stays)]


def test_a_wearing_is_told_with_its_site_and_how_it_is_known() -> None:
    """One that said its end lasted until then; of one that did not it is open how long."""
    said, open_ = use(1, until=3), use(5, "p-2", known_by="checked")
    assert told([said, open_], []) == [
        Wearing("p-1", at(1), at(3), at(1), at(3), "worn", "dock"),
        Wearing("p-2", at(5), None, at(5), None, "checked", "dock"),
    ]


def test_what_is_no_wearing_of_anybody_by_then_is_left_out() -> None:
    """A use by the calendar, one that names nobody, and what came later; at the moment itself it counts."""
    uses = [use(1, worn=False), use(2, None), use(20), use(20.1)]
    assert [one.at for one in told(uses, [])] == [at(20)]


@pytest.mark.parametrize("now", [4, 5, 6, 9, 20])
@pytest.mark.parametrize(
    "stays", [[], [hand(0, None)], [hand(0, 3)], [hand(0, 4), hand(4, None)], [hand(0, 3, "p-2"), hand(3, 4)]]
)
def test_what_was_told_for_all_time_is_cut_to_a_moment(now: float, stays: list[Stay]) -> None:
    """Of all that had begun by then; how long it was said to last is told up to the moment."""
    uses = [use(1, until=9), use(2, "p-2"), use(3, "p-2", until=5), use(3.5, "p-3", until=6), use(4)]
    ever = list(wearings(uses, stays, FOREVER))
    assert [lasting(one, at(now)) for one in ever] == told(uses, stays, at(now))


@pytest.mark.parametrize(
    ("stays", "said", "unsaid"),
    [
        ([], 9, None),
        ([hand(0, None)], 9, None),
        ([hand(0, 5)], 5, 5),
        ([hand(0, 1)], 9, None),
        ([hand(0, 5, site="dock"), hand(5, 8, site="works")], 8, 8),
        ([hand(0, 5), hand(5, 8, "p-2")], 5, 5),
        ([hand(-3, 0.5), hand(4, 8, "p-2")], 8, 8),
        ([hand(0, 20)], 9, 20),
        ([hand(0, 21)], 9, None),
        ([Stay("battery", at(0), at(0), at(5))], 9, None),
    ],
)
def test_a_wearing_ends_with_the_hand(stays: list[Stay], said: float, unsaid: float | None) -> None:
    """The hand that has the unit, or has it next; the same hand at another site goes on, and so does one that is."""
    assert ends([use(1, until=9)], stays) == [said]
    assert ends([use(1)], stays) == [unsaid]


def test_a_wearing_that_goes_on_is_told_up_to_now() -> None:
    """What was said to end later has lasted until the moment asked about."""
    assert told([use(1, until=30)], [])[0].until == NOW


@pytest.mark.parametrize(
    ("people", "found"),
    [
        ([(1, "p-1"), (3, "p-2"), (5, "p-2"), (7, "p-1")], [3, 5, 7, None]),
        ([(1, "p-1"), (2, "p-1")], [2, None]),
        ([(1, "p-1"), (1, "p-2"), (4, "p-3")], [4, 4, None]),
        ([(1, "p-1"), (3, "p-2"), (3, "p-1")], [3, None, None]),
        ([(1, "p-2"), (3, "p-1"), (3, "p-2"), (5, "p-2")], [3, 5, 5, None]),
    ],
)
def test_a_wearing_ends_when_anybody_puts_it_on(people: list[tuple[float, str]], found: list[float | None]) -> None:
    """The same person, too; later than that alone: two of one instant do not end each other."""
    assert ends([use(hours, person) for hours, person in people], []) == found


def test_a_wearing_ends_when_somebody_puts_it_on_who_is_known_to_have_taken_it_off() -> None:
    """The same person, too: who put it on again did not have it on all the while."""
    assert ends([use(1), use(3, until=4)], []) == [3, 4]


@pytest.mark.parametrize(
    ("moments", "found"),
    [
        ([(3, "p-1")], None),
        ([(3, "p-1"), (4, "p-1")], None),
        ([(3, "p-2")], 3),
        ([(3, "p-1"), (4, "p-2")], 4),
        ([(3, "p-1"), (4, "p-1"), (4, "p-2")], 4),
        ([(3, "p-1"), (3, "p-2")], 3),
        ([(3, "p-2"), (3, "p-1")], 3),
    ],
)
@pytest.mark.parametrize("kind", ["failed-check", "failed-in-use"])
def test_a_failure_ends_what_another_wears(kind: str, moments: list[tuple[float, str]], found: float | None) -> None:
    """That they had it on themselves at some moment says nothing of when they took it off."""
    failures = [use(hours, person, known_by=kind) for hours, person in moments]
    assert ends([use(1), *failures], [])[0] == found
    assert ends([use(1), *failures, use(5)], [])[0] == (found or 5)


def test_a_wearing_of_a_day_ends_another_at_the_end_of_that() -> None:
    """It may have been at any moment of the day, so what was before it may have lasted into that."""
    assert ends([use(1), use(12, day=at(-12))], []) == [12, None]


@pytest.mark.parametrize(
    ("shown", "found"),
    [
        ([("p-2", "failed-check")], 18),
        ([("p-2", "failed-in-use")], 18),
        ([("p-2", "checked")], 18),
        ([("p-1", "checked")], 18),
        ([("p-1", "failed-check")], None),
        ([("p-1", "failed-in-use"), ("p-2", "failed-in-use")], 18),
    ],
)
def test_bad_news_of_a_day_ends_a_wearing_at_the_end_of_that(shown: list[tuple[str, Any]], found: float | None) -> None:
    """It counts as the day begins; when on the day the other had it on is not known. What ends it sooner counts."""
    by_day = [use(6, person, known_by=kind, day=at(18)) for person, kind in shown]
    assert ends([use(1), *by_day], [])[0] == found
    assert ends([use(1), *by_day, use(8, "p-3")], [])[0] == 8
    assert ends([use(1), *by_day, use(19, "p-3")], [])[0] == (found or 19)
    assert ends([use(1), *by_day, use(7, "p-1", known_by="failed-check")], [])[0] == found
    assert ends([use(1), *by_day], [hand(0, 9)])[0] == 9
    assert ends([use(6.5), *by_day], [])[0] is None


def test_of_two_days_that_bad_news_states_the_first_counts() -> None:
    """Whichever of them began first."""
    two = [use(2, "p-2", known_by="failed-check", day=at(14)), use(3, "p-3", known_by="failed-check", day=at(13))]
    later = use(15, "p-2", known_by="failed-check", day=at(27))
    assert ends([use(1), *two, later], [])[0] == 13


def test_whichever_ends_it_first_counts() -> None:
    """The hand or another person."""
    assert ends([use(1), use(3, "p-2")], [hand(0, 5)]) == [3, 5]
    assert ends([use(1), use(7, "p-2")], [hand(0, 5)]) == [5, None]


def test_a_failure_shows_a_moment_alone() -> None:
    """Who noticed it had the unit on then, for how long is not told; by a check they may have it on still."""
    kinds = ["failed-check", "failed-in-use", "checked"]
    assert [ends([use(1, known_by=kind)], []) for kind in kinds] == [[1], [1], [None]]


def test_a_wearing_of_a_day_may_have_been_at_any_moment_of_it() -> None:
    """Good news counts at the day's end, bad news at its beginning: the other end is in it."""
    [good] = told([use(12, day=at(-12))], [hand(-20, 15)])
    assert (good.at, good.since, good.ends) == (at(12), at(-12), at(15))
    [bad] = told([use(-12, day=at(12), known_by="failed-check")], [])
    assert (bad.at, bad.since, bad.ends) == (at(-12), at(-12), at(12))
    [left] = told([use(-12, day=at(12))], [hand(-20, 5)])
    assert (left.since, left.ends) == (at(-12), at(12))
