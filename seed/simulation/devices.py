"""The devices of the sites: how far their clocks are off, what they say of them, and how they count.

A clock is off by the same for the whole run, so that what a device says is as exact as a true one, only shifted.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import cycle
from typing import Literal

import msgspec

from seed.book import Entry, Message
from seed.dice import Dice
from seed.post import stamped
from seed.simulation.places import Place

Says = Literal["sent_at", "Date", "nothing"]

TOLERATED = timedelta(minutes=5)
"""How far a clock may be off before bad news counts again at its receipt (R8, the default of policy `clock`)."""
BEGINS_AGAIN = LOSES = 3
"""Every so many devices one begins to count anew, and another one loses a message."""
RUNS_AHEAD = 4
"""Every so many devices one has a clock that runs far ahead at first, if it states its clock with each message."""
FAR_AHEAD = timedelta(hours=2)


class Clock(msgspec.Struct, frozen=True):
    """A clock: between how many seconds ahead it is (behind where negative), and where the device states it."""

    least: int
    most: int
    says: Says


TRUE = Clock(0, 0, "sent_at")
CLOCKS = (
    Clock(-3 * 3600, -20 * 60, "sent_at"),
    Clock(10, 120, "sent_at"),
    Clock(0, 0, "nothing"),
    TRUE,
    Clock(20 * 60, 40 * 60, "sent_at"),
    Clock(-120, -10, "Date"),
    TRUE,
)
"""The clocks that devices have in turn. None is so far ahead that it shows a moment that is still to come."""


class Device(msgspec.Struct, frozen=True):
    """A device of a site; `ahead` is how many seconds its clock is, `resets` whether its counter begins again.

    One that `loses` never sends one of its messages; one that `runs_ahead` has its clock set after its first messages.
    """

    name: str
    ahead: int = 0
    says: Says = "sent_at"
    resets: bool = False
    loses: bool = False
    runs_ahead: bool = False

    def shows(self, at: datetime) -> datetime:
        """Give what its clock shows at a moment."""
        return at + timedelta(seconds=self.ahead)

    @property
    def is_suspect(self) -> bool:
        """Say whether its clock, as it states it, is off by more than is tolerated."""
        return self.says != "nothing" and timedelta(seconds=abs(self.ahead)) > TOLERATED


class Taken(msgspec.Struct, frozen=True, eq=False):
    """A message as its device took it down: with its number, stamped by its clock; `at` is the true moment."""

    message: Message
    device: Device
    at: datetime
    role: str

    @property
    def id(self) -> str:
        """Give the message's id."""
        return str(self.message["id"])

    @property
    def number(self) -> int:
        """Give the number that the device gave it."""
        return int(str(self.message["device_seq"]))

    @property
    def stamp(self) -> datetime:
        """Give the moment that the device says it happened at."""
        return datetime.fromisoformat(str(self.message["occurred_at"]))


def devices(places: Iterable[Place], dice: Dice, faults: frozenset[str]) -> dict[str, Device]:
    """Give the two devices of every site by name."""
    clocks = cycle(CLOCKS if "drift" in faults else [TRUE])
    names = [name for place in places for name in (place.kiosk, place.handheld)]
    return {
        name: Device(
            name=name,
            ahead=dice.between(clock.least, clock.most),
            says=clock.says,
            resets="reset" in faults and number % BEGINS_AGAIN == 1,
            loses="lost" in faults and number % LOSES == LOSES - 1,
            runs_ahead="ahead" in faults and number % RUNS_AHEAD == RUNS_AHEAD - 1 and clock.says == "sent_at",
        )
        for number, (name, clock) in enumerate(zip(names, clocks, strict=False))
    }


def taken(entries: Iterable[Entry], by_name: dict[str, Device], dice: Dice) -> Iterator[Taken]:
    """Have each device take down what it is told, in its true order; those that reset or lose do so at some place.

    What is lost happened to nobody: a number is all that is known of it.
    """
    every = list(entries)
    counts = Counter(str(entry.device) for entry in every)
    anew = {name: _place(count, dice) for name, count in counts.items() if by_name[name].resets}
    lost = {name: _place(count, dice) for name, count in counts.items() if by_name[name].loses}
    done: Counter[str] = Counter()
    for entry in every:
        device = by_name[str(entry.device)]
        done[device.name] += 1
        number, after, lacks = done[device.name], anew.get(device.name, 0), lost.get(device.name, 0)
        counted = number - after if after and number > after else number
        numbered = entry.message | {"device_seq": counted + (0 < lacks < number)}
        yield Taken(stamped(numbered, device.ahead), device, entry.at, entry.role)


def _place(count: int, dice: Dice) -> int:
    """Draw after how many messages something happens to a counter: two at least before, one at least after, else 0."""
    return dice.between(2, count - 1) if count > 2 else 0  # noqa: PLR2004 -- two before and one after
