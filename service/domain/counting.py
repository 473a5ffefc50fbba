"""Counting: what the numbers that a device gives its events say about those that are missing.

A device gives each event one number more than the last. The numbers are read in the order of the device's own time, not
as they arrived: so late and early arrivals come to the same, and a gap closes by itself when what was missing comes.
Between the first and the last number of a run whatever nobody has is missing. What lies outside is not: where a device
began to count is not known, nor how far it has come since. How the numbers are read:

1. A number that comes again at the very moment of its first event, or that is not lower than the newest, or whose own
   time is not later than the newest's, is a repeat: an event sent twice under two ids.
2. A number that was taken, or lies below the first, and is lower than the newest though its own time is later, is a
   reset: the device counts anew, and a new run begins. A lower number that fills a gap is none.
3. An event belongs to the newest run that had begun by its own time.
4. Two runs after each other that share no number and leave no more gaps together than apart are one: not the counter
   was set back, but the clock; or somebody took down later what had happened before.
5. An event that states a day alone resets nothing: its number goes where it leaves the fewest gaps.
6. A number whose message was refused is not missing: it came. It belongs to the newest run that lacks it, else to the
   newest, which has then come as far as that; below its first it says nothing of what lies between. Its moment is not
   asked, since it may be what it was refused for. One that some run has was told again since.
"""

from collections.abc import Iterable
from datetime import datetime
from itertools import pairwise
from typing import NamedTuple

import msgspec


class Numbered(NamedTuple):
    """An event with its device's number; `at` is the device's own time, None where it states a day alone."""

    number: int
    at: datetime | None
    seq: int


class Gap(msgspec.Struct, frozen=True):
    """Numbers that nobody has, first and last included."""

    first: int
    last: int


class Run(msgspec.Struct, frozen=True):
    """Numbers counted without a reset: the lowest, the highest, how many between are missing, which, and repeats.

    `refused` are the numbers that came in messages which were not accepted.
    """

    first: int
    last: int
    lacking: int = 0
    gaps: list[Gap] = []
    repeats: int = 0
    refused: list[Gap] = []


def runs(numbered: Iterable[Numbered], refused: Iterable[int] = ()) -> list[Run]:
    """Give the runs of one device, the oldest first; `refused` are numbers of messages that were not accepted."""
    every = list(numbered)
    found = _without_set_clocks(_counted(every))
    for number in sorted(one.number for one in every if one.at is None):
        _settle(number, found)
    for number in sorted(set(refused)):
        _refuse(number, found)
    return [one.closed() for one in found]


class _Open:
    """A run while it is counted: its numbers, each with the moment it was taken at."""

    def __init__(self, number: int, at: datetime | None) -> None:
        self.taken = {number: at}
        self.refused: set[int] = set()
        self.first = self.last = number
        self.repeats = 0

    @property
    def lacking(self) -> int:
        return self.last - self.first + 1 - len(self.taken)

    def take(self, number: int, at: datetime | None) -> None:
        if number in self.taken:
            self.repeats += 1
            return
        self.taken[number] = at
        self.first, self.last = min(self.first, number), max(self.last, number)

    def is_reset_by(self, number: int, at: datetime) -> bool:
        """Say whether the device has begun to count anew (reading 2)."""
        newest = self.taken[self.last]
        if number >= self.last or newest is None or at <= newest:
            return False
        return number < self.first or (number in self.taken and self.taken[number] != at)

    def added_by(self, number: int) -> int:
        """Say how many more would be missing with a number that is not taken."""
        return max(self.last, number) - min(self.first, number) - (self.last - self.first) - 1

    def joins(self, later: "_Open") -> bool:
        """Say whether a later run was no run of its own (reading 4)."""
        if not self.taken.keys().isdisjoint(later.taken):
            return False
        span = max(self.last, later.last) - min(self.first, later.first) + 1
        return span - len(self.taken) - len(later.taken) <= self.lacking + later.lacking

    def join(self, later: "_Open") -> None:
        self.taken |= later.taken
        self.first, self.last = min(self.first, later.first), max(self.last, later.last)
        self.repeats += later.repeats

    def refuse(self, number: int) -> None:
        self.taken.pop(number, None)
        self.refused.add(number)
        self.last = max(self.last, number)

    def closed(self) -> Run:
        came = {*self.taken, *(number for number in self.refused if number >= self.first)}
        gaps = [Gap(one + 1, other - 1) for one, other in pairwise(sorted(came)) if other > one + 1]
        lacking = self.last - self.first + 1 - len(came)
        return Run(self.first, self.last, lacking, gaps, self.repeats, _stretches(self.refused))


def _counted(every: Iterable[Numbered]) -> list[_Open]:
    """Count what states its moment."""
    found: list[_Open] = []
    for at, number in sorted((one.at, one.number) for one in every if one.at is not None):
        if found and not found[-1].is_reset_by(number, at):
            found[-1].take(number, at)
        else:
            found.append(_Open(number, at))
    return found


def _without_set_clocks(found: Iterable[_Open]) -> list[_Open]:
    """Join what only a clock that was set back has put apart."""
    joined: list[_Open] = []
    for later in found:
        one = later
        while joined and joined[-1].joins(one):
            before = joined.pop()
            before.join(one)
            one = before
        joined.append(one)
    return joined


def _settle(number: int, found: list[_Open]) -> None:
    """Give a number without a moment to the run where it leaves the fewest gaps, of equal ones the newest."""
    lacking = [one for one in reversed(found) if number not in one.taken]
    if lacking:
        min(lacking, key=lambda one: one.added_by(number)).take(number, None)
    elif found:
        found[-1].take(number, None)
    else:
        found.append(_Open(number, None))


def _refuse(number: int, found: list[_Open]) -> None:
    """Give a number that was refused to its run (reading 6)."""
    if any(number in one.taken for one in found):
        return
    if not found:
        found.append(_Open(number, None))
    next((one for one in reversed(found) if one.first < number < one.last), found[-1]).refuse(number)


def _stretches(numbers: Iterable[int]) -> list[Gap]:
    """Give the stretches in which numbers follow each other."""
    told: list[Gap] = []
    for number in sorted(numbers):
        if told and told[-1].last == number - 1:
            told[-1] = Gap(told[-1].first, number)
        else:
            told.append(Gap(number, number))
    return told
