"""Asks: what openings of a recall ask for, and by which day: all of them together, and of one unit.

A recall opened again adds to what it asks, and each opening has units of its own: what one unit is to be dealt with by
may be less than another.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final, NamedTuple

from service.domain.kinds.recall_opened import Action
from service.domain.recall.bearing import reached
from service.domain.recall.impact import Life
from service.domain.recall.opening import Opening

STRICTEST: Final[tuple[Action, ...]] = ("stop-use", "rectify-by", "inspect", "information")
"""What a recall asks, what asks most first."""


class Asks(NamedTuple):
    """What is asked, and by which day; at once where no day is named."""

    action: Action
    due_on: date | None


def asked_by(openings: Iterable[Opening]) -> Asks:
    """Give the most that any of some openings asks, and the earliest day by which; None where one of those names none.

    To open a recall again takes nothing back.
    """
    every = list(openings)
    action = min((one.action for one in every), key=STRICTEST.index)
    days = [one.due_on for one in every if one.action == action]
    known = [day for day in days if day is not None]
    return Asks(action, min(known) if len(known) == len(days) else None)


def asked_of(life: Life, openings: Sequence[Opening]) -> Asks:
    """Give what is asked of a unit that some of the openings reach, by what sits there or is said to by a day alone."""
    if len({(one.action, one.due_on) for one in openings}) > 1:
        there = [(life.unit, life.listing), *((one.unit, one.listing) for one in life.ahead)]
        found = [one for one in openings if any(True for unit, listing in there for _ in reached(unit, listing, one))]
        return asked_by(found or openings)
    return asked_by(openings)
