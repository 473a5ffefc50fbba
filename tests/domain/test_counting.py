from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.counting import Gap, Numbered, Run, runs

CHANCE = st.randoms(use_true_random=False)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def minute(number: float) -> datetime:
    """Give a moment so many minutes after noon."""
    return NOON + timedelta(minutes=number)


def said(*pairs: tuple[int, float | None]) -> list[Numbered]:
    """Give events by number and minute, recorded in the order they stand in."""
    return [
        Numbered(number, None if at is None else minute(at), seq) for seq, (number, at) in enumerate(pairs, start=1)
    ]


@pytest.mark.parametrize(
    ("pairs", "expected"),
    [
        ([(7, 1)], [Run(7, 7)]),
        ([(1, 1), (2, 2), (3, 3)], [Run(1, 3)]),
        ([(3, 3), (1, 1), (2, 2)], [Run(1, 3)]),
        ([(1, 1), (4, 4), (6, 6)], [Run(1, 6, 3, [Gap(2, 3), Gap(5, 5)])]),
        ([(1, 1), (4, 4), (3, 3)], [Run(1, 4, 1, [Gap(2, 2)])]),
        ([(1, 1), (4, 4), (3, 9)], [Run(1, 4, 1, [Gap(2, 2)])]),
        ([(1, 1), (2, 2), (2, 2), (3, 3)], [Run(1, 3, repeats=1)]),
        ([(1, 1), (2, 2), (3, 3), (3, 5)], [Run(1, 3, repeats=1)]),
        ([(1, 1), (2, 2), (3, 2), (2, 2)], [Run(1, 3, repeats=1)]),
        ([(1, 1), (2, 2), (3, 3), (1, 4), (2, 5)], [Run(1, 3), Run(1, 2)]),
        ([(1, 4), (2, 5), (1, 1), (2, 2), (3, 3)], [Run(1, 3), Run(1, 2)]),
        ([(8, 1), (9, 2), (9, 3), (8, 4), (9, 5)], [Run(8, 9, repeats=1), Run(8, 9)]),
        ([(90, 1), (91, 2), (1, 3), (2, 4)], [Run(90, 91), Run(1, 2)]),
        ([(1, 1), (3, 3), (1, 4), (3, 6)], [Run(1, 3, 1, [Gap(2, 2)]), Run(1, 3, 1, [Gap(2, 2)])]),
    ],
    ids=[
        "alone",
        "in order",
        "out of order",
        "two gaps",
        "a gap closes in part",
        "a gap closes by a later clock",
        "twice at one moment",
        "the newest twice",
        "twice within one tick of the clock",
        "reset",
        "reset that is heard of first",
        "a repeat is no reset",
        "reset below the first",
        "a gap on both sides of a reset",
    ],
)
def test_numbers_are_read(pairs: list[tuple[int, float]], expected: list[Run]) -> None:
    """Each reading holds by itself: gaps, repeats and resets are told apart by number and own time."""
    assert runs(said(*pairs)) == expected


def test_a_clock_set_back_is_no_reset() -> None:
    """Numbers below the first with a later moment are one run with the others where their moments interleave."""
    clock_an_hour_ahead = [(1, 61), (2, 62), (3, 63)]
    set_right = [(4, 4), (5, 5), (6, 61.5), (7, 62.5), (8, 63.5)]

    assert runs(said(*clock_an_hour_ahead, *set_right)) == [Run(1, 8)]


def test_what_is_taken_down_later_is_no_reset() -> None:
    """Numbers below the first with a later moment that go on without a gap are one run; those apart from it are not."""
    assert runs(said((1, 550), (2, 0))) == [Run(1, 2)]
    assert runs(said((1, 550), (2, 0), (3, 60))) == [Run(1, 3)]
    assert runs(said((1, 550), (2, 0), (4, 60))) == [Run(1, 4, 1, [Gap(3, 3)])]
    assert runs(said((1, 550), (3, 0))) == [Run(3, 3), Run(1, 1)]


def test_what_was_refused_is_not_missing() -> None:
    """A refused number fills its gap, or leads the newest run on; below the first it says nothing of others."""
    counted = said((2, 1), (3, 2), (6, 3))
    twice = said((1, 1), (2, 2), (5, 3), (1, 4), (2, 5), (4, 6))

    assert runs(counted, [4]) == [Run(2, 6, 1, [Gap(5, 5)], refused=[Gap(4, 4)])]
    assert runs(counted, [5, 4, 9, 10]) == [Run(2, 10, 2, [Gap(7, 8)], refused=[Gap(4, 5), Gap(9, 10)])]
    assert runs(counted, [0]) == [Run(2, 6, 2, [Gap(4, 5)], refused=[Gap(0, 0)])]
    assert runs(counted, [3, 6]) == [Run(2, 6, 2, [Gap(4, 5)])]
    assert runs(twice, [3]) == [Run(1, 5, 2, [Gap(3, 4)]), Run(1, 4, refused=[Gap(3, 3)])]
    assert runs(twice, [4]) == [Run(1, 5, 2, [Gap(3, 4)]), Run(1, 4, 1, [Gap(3, 3)])]
    assert runs([], [7, 8, 11]) == [Run(7, 11, 2, [Gap(9, 10)], refused=[Gap(7, 8), Gap(11, 11)])]


def test_a_day_alone_resets_nothing() -> None:
    """A number without a moment goes where it leaves the fewest gaps; a repeat is one of the newest run."""
    two_runs = [(1, 1), (2, 2), (4, 4), (1, 5), (2, 6)]

    assert runs(said(*two_runs, (3, None))) == [Run(1, 4), Run(1, 2)]
    assert runs(said(*two_runs, (3, None), (3, None))) == [Run(1, 4), Run(1, 3)]
    assert runs(said(*two_runs, (5, None))) == [Run(1, 5, 1, [Gap(3, 3)]), Run(1, 2)]
    assert runs(said(*two_runs, (1, None))) == [Run(1, 4, 1, [Gap(3, 3)]), Run(1, 2, repeats=1)]
    assert runs(said((5, None), (3, None), (5, None))) == [Run(3, 5, 1, [Gap(4, 4)], repeats=1)]


def test_nothing_counts_nothing() -> None:
    """A device without numbers has no run."""
    assert runs([]) == []


class Device:
    """A device that counts: it loses messages, sends some twice, and is reset to a number that came or below all."""

    def __init__(self, chance: Random, *, loses: float) -> None:
        self.sent: list[Numbered] = []
        self.came: list[list[int]] = []
        self.repeats: list[int] = []
        self._chance = chance
        self._loses = loses
        self._at = NOON
        for _ in range(chance.randint(1, 4)):
            before = self.came[-1] if self.came else [chance.randint(100, 200)]
            self._count_from(chance.choice([*before[:-1], before[0] - 20]))

    def _count_from(self, number: int) -> None:
        """Count on for a while; the first number comes, the others may be lost."""
        self.came.append([])
        self.repeats.append(0)
        for place in range(self._chance.randint(1, 12)):
            self._at += timedelta(seconds=self._chance.randint(1, 600))
            if place == 0 or self._chance.random() >= self._loses:
                self._send(number + place)

    def _send(self, number: int) -> None:
        self.came[-1].append(number)
        times = 1 + (self._chance.random() < 0.1)
        self.repeats[-1] += times - 1
        self.sent += [Numbered(number, self._at, 0)] * times

    def told(self) -> list[Run]:
        """Tell of each run what came of it."""
        return [
            Run(numbers[0], numbers[-1], numbers[-1] - numbers[0] + 1 - len(numbers), gaps(numbers), repeats)
            for numbers, repeats in zip(self.came, self.repeats, strict=True)
        ]


def arrived(events: Iterable[Numbered], chance: Random) -> list[Numbered]:
    """Have events arrive in any order: each is recorded at its turn."""
    mixed = list(events)
    chance.shuffle(mixed)
    return [one._replace(seq=seq) for seq, one in enumerate(mixed, start=1)]


def gaps(numbers: Sequence[int]) -> list[Gap]:
    """List the gaps between numbers, one by one."""
    return [Gap(one + 1, other - 1) for one, other in pairwise(sorted(numbers)) if other - one > 1]


@given(CHANCE)
def test_when_everything_has_come_nothing_is_missing(chance: Random) -> None:
    """In whatever order events come, late, twice and over resets: at the end there is no gap in any run."""
    device = Device(chance, loses=0)
    found = runs(arrived(device.sent, chance))

    assert found == device.told()
    assert all(run.gaps == [] for run in found)


@given(CHANCE)
def test_what_a_device_lost_is_missing(chance: Random) -> None:
    """Over resets, too, what is missing is what was lost, run by run, in whatever order the rest came."""
    device = Device(chance, loses=0.3)

    assert runs(arrived(device.sent, chance)) == device.told()


@given(CHANCE)
def test_the_order_of_arrival_says_nothing(chance: Random) -> None:
    """At any time the same events tell the same, whichever of them came first."""
    some = [one for one in Device(chance, loses=0.3).sent if chance.random() < 0.7]

    assert runs(arrived(some, chance)) == runs(arrived(some, chance))


@given(CHANCE)
def test_what_is_lost_is_missing_until_it_comes(chance: Random) -> None:
    """Without a reset the lost numbers between first and last are missing; each that comes late closes its gap."""
    count = chance.randint(2, 40)
    first = chance.randint(0, 2000)
    every = said(*((first + place, float(place)) for place in range(count)))
    waiting = [one for one in every if chance.random() < 0.4]
    come = [one for one in every if one not in waiting]
    while come:
        (run,) = runs(arrived(come, chance))
        numbers = [one.number for one in come]
        lost = [one.number for one in waiting if min(numbers) < one.number < max(numbers)]
        assert (run.first, run.last, run.lacking) == (min(numbers), max(numbers), len(lost))
        assert run.gaps == gaps(numbers)
        if not waiting:
            break
        come.append(waiting.pop(chance.randrange(len(waiting))))


@given(CHANCE)
def test_a_clock_that_is_set_loses_nothing(chance: Random) -> None:
    """However often a clock is set back or forth, of a device whose events all came nothing is missing."""
    off, every = timedelta(), []
    for number in range(chance.randint(2, 60)):
        if chance.random() < 0.08:
            off += timedelta(seconds=chance.randint(-90, 90))
        every.append(Numbered(number, NOON + timedelta(seconds=2 * number) + off, number + 1))

    assert sum(run.lacking for run in runs(arrived(every, chance))) == 0
