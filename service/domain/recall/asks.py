"""Asks: what openings of a recall ask for, and by which day: all of them together, and of one unit.

A recall opened again adds to what it asks, and each opening has units of its own: what one unit is to be dealt with by
may be less than another.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final, Protocol

import msgspec

from service.domain.kinds.recall_opened import Action
from service.domain.recall.bearing import reached
from service.domain.recall.impact import Life
from service.domain.recall.opening import Opening

STRICTEST: Final[tuple[Action, ...]] = ("stop-use", "rectify-by", "inspect", "information")
"""What a recall asks, what asks most first."""


class Ask(msgspec.Struct, frozen=True):
    """What is asked, and by which day; at once where no day is named."""

    action: Action
    due_on: date | None

    @property
    def place(self) -> tuple[int, date]:
        """Give what asks are put in order by: what asks most first, and what asks it soonest."""
        return STRICTEST.index(self.action), self.due_on or date.min


Asks = tuple[Ask, ...]
"""All that is asked, each once, in order."""


class Asking(Protocol):
    """What asks something: an opening, or what is told of one."""

    @property
    def action(self) -> Action:
        """Give what it asks."""
        ...

    @property
    def due_on(self) -> date | None:
        """Give by which day."""
        ...


def asked_by(openings: Iterable[Asking]) -> Asks:
    """Give all that some openings ask: to open a recall again takes nothing back."""
    return tuple(sorted({Ask(one.action, one.due_on) for one in openings}, key=lambda one: one.place))


def most_of(asks: Asks) -> Ask:
    """Give the most that is asked, and the earliest day by which any of it is; None where some of it names none.

    What is only to be read is done by no day, unless there is nothing else.
    """
    days = [one.due_on for one in asks if one.action != "information"] or [one.due_on for one in asks]
    known = [day for day in days if day is not None]
    return Ask(asks[0].action, min(known) if len(known) == len(days) else None)


def asked_of(life: Life, openings: Sequence[Opening]) -> Asks:
    """Give what is asked of a unit that some of the openings reach, by what sits there or is said to by a day alone."""
    asks = asked_by(openings)
    if len(asks) == 1:
        return asks
    there = [(life.unit, life.listing), *((one.unit, one.listing) for one in life.ahead)]
    found = [one for one in openings if any(True for unit, listing in there for _ in reached(unit, listing, one))]
    return asked_by(found) or asks
