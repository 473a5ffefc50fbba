"""Spans of time, and what meets them."""

import pytest

from service.domain.recall.spans import Span, Spans
from tests.domain.units import at

NOW = at(9)


def span(since: float, until: float | None = None, day: float | None = None) -> Span:
    """Make a span of hours after noon."""
    return Span(at(since), None if until is None else at(until), None if day is None else at(day))


@pytest.mark.parametrize(
    ("since", "until", "meets"),
    [
        (1, 3, False),
        (1, 5, False),
        (1, 5.1, True),
        (5, 5, True),
        (6, 7, True),
        (7.9, None, True),
        (8, None, False),
        (8, 9, False),
        (1, None, True),
        (9, None, False),
    ],
)
def test_a_time_meets_what_it_shares_a_moment_with(since: float, until: float | None, *, meets: bool) -> None:
    """The beginning of a span belongs to it, its end does not; a time without an end goes on up to now."""
    assert Spans([span(5, 8)], NOW).meet(at(since), None if until is None else at(until)) is meets


def test_what_goes_on_meets_what_goes_on() -> None:
    """The moment itself is part of both, and of nothing that was over."""
    going = Spans([span(5)], NOW)
    assert going.meet(NOW, None)
    assert going.meet(NOW, NOW)
    assert not going.meet(at(1), at(3))
    assert not going.meet(at(1), at(5))
    assert Spans([span(9)], NOW).meet(at(1), None)
    assert not Spans([], NOW).meet(at(1), None)


def test_what_began_on_some_moment_of_a_day_meets_that_day() -> None:
    """Though it counts from its own moment alone."""
    day = Spans([span(5, 8, 0)], NOW)
    assert day.meet(at(1), at(2))
    assert day.seconds_of(at(1), at(6)) == 3600


def test_no_second_counts_twice() -> None:
    """Spans that overlap, touch or lie in one another are one; a gap counts for nothing."""
    every = Spans([span(4, 6), span(0, 3), span(1, 2), span(2, 4), span(7)], NOW)
    assert every.seconds_of(at(-1), at(20)) == 8 * 3600
    assert every.seconds_of(at(2.5), at(7.5)) == 4 * 3600
    assert every.seconds_of(at(6), at(7)) == 0


@pytest.mark.parametrize(
    ("since", "until", "first"),
    [
        (1, 3, None),
        (1, None, 3),
        (1, 4, 3),
        (3.5, 4, 3.5),
        (4, 4, 4),
        (5, None, 8),
        (5, 8, None),
        (5, 8.5, 8),
        (8, 8, 8),
        (8.5, None, 8.5),
        (9, None, 9),
        (9, 9, 9),
    ],
)
def test_a_time_is_there_from_the_first_moment_it_shares(
    since: float, until: float | None, first: float | None
) -> None:
    """That of the earliest span that it meets, whichever order they are told in; of a day alone the day's beginning."""
    every = Spans([span(8), span(4, 5, 3)], NOW)
    found = every.first_shared(at(since), None if until is None else at(until))
    assert found == (None if first is None else at(first))
