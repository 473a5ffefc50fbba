"""Spare stock, by definition: every line by site, item, lot, expiry and unit, told again from its beginning.

A lot that has one expiry on record at its site has it wherever none is said. A part is fitted in the unit of its item,
or in ones. What is fitted, moved or discarded without a place comes off the whole; a count of a place says how much of
that it explains, the rest is taken for gone from what had no place, or is forgotten. What a count of a place finds more
than was known there had no place before. What is taken without a lot may be of any that the item has there, all of
which keep what they had: it comes off what has no lot only beyond that, together with what was taken so since a count.
What came or was counted by a day alone may be of those since that began. A count of a day alone may not have seen what
came to its line that day, and what was taken by one may be what a count of that day missed already. Nothing is ever
less than nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from tests.oracle import clock
from tests.oracle.fact import fact
from tests.oracle.impact import NO, YES, of_part
from tests.oracle.labels import compare
from tests.oracle.recalls import OF_PARTS
from tests.oracle.record import Message, Record
from tests.oracle.told import SWAPS
from tests.oracle.world import World

ONES = ("c62", "ea", "each")
Key = tuple[str, str, str | None, str | None, str]


@dataclass
class Line:
    """One line: as last told, by place ("" for none), and what was taken from no place in particular."""

    told: Message
    places: dict[str, float] = field(default_factory=dict)
    taken: float = 0

    def left(self) -> float:
        """Say how much is left."""
        return sum(self.places.values()) - self.taken

    def tell(self, step: str, place: str, much: float) -> None:
        """Put in, take off or count."""
        there = self.places.get(place, 0)
        anywhere = self.places.get("", 0)
        if step == "put":
            self.places[place] = there + much
        elif step == "take" and not place:
            self.taken += much
        elif step == "take":
            self.places[place] = max(there - much, 0)
            self.places[""] = max(anywhere - max(much - there, 0), 0)
        elif not place:
            self.places, self.taken = {"": much}, 0
        else:
            unexplained = max(self.taken - max(there - much, 0), 0)
            self.places[""] = max(anywhere - unexplained - max(much - there, 0), 0)
            self.places[place], self.taken = much, 0
        self.taken = min(self.taken, sum(self.places.values()))


Step = tuple[datetime, str, Message, str, float]


def lines(world: World, at: datetime) -> list[Line]:
    """Tell all that happened to stock until a moment, in order."""
    found: list[Line] = []
    told = steps(world, at)
    for _ in kept(found, [step for _, step in told if step[0] <= at], by_day(told, at)):
        pass
    return found


def arriving(world: World, at: datetime) -> list[Line]:
    """Tell how much more there may be of each line by days alone that are not over: what any of it says at most."""
    told = steps(world, at)
    every = [step for begins, step in told if step[0] <= at or (begins <= at and step[1] != "take")]
    most: dict[int, Line] = {}
    before: dict[int, float] = {}
    for when, line, left in kept([], every, by_day(told, at)):
        if when > at:
            more = line.left() - before.setdefault(id(line), left)
            if more > 0 and (id(line) not in most or more > most[id(line)].left()):
                most[id(line)] = Line(line.told, {"": more})
    return list(most.values())


def steps(world: World, at: datetime) -> list[tuple[datetime, Step]]:
    """Walk what every event does to stock, with the beginning of its day if it states that alone."""
    standing = [record for record in world.known if not world.voided(record)]
    told = [(fact(record, world.book), record) for record in standing if touches(record)]
    return [(one.versions_at, (one.at, *step)) for one, record in told for step in moved(record, world, at)]


def by_day(told: list[tuple[datetime, Step]], at: datetime) -> list[tuple[datetime, Step]]:
    """Pick what is said by a day alone that has begun."""
    return [(begins, step) for begins, step in told if begins < step[0] and begins <= at]


def kept(
    found: list[Line], every: list[Step], days: list[tuple[datetime, Step]]
) -> Iterator[tuple[datetime, Line, float]]:
    """Do it in order, and tell of each step which line it changed, and how much was left of that before."""
    said = [step[2] for step in every]
    taken: dict[Any, float] = {}
    began = {id(one): begins for begins, one in days}
    done: list[Step] = []
    for one in sorted(every, key=order):
        when, step, part, place, much = one
        since = began.get(id(one))
        full = {**part, "expires": part["expires"] or only_expiry(part, said)}
        that_day = [] if since is None else [other for other in done if other[0] >= since]
        done.append((when, step, full, place, much))
        line = next((one for one in found if alike(one.told, full)), None)
        if line is None:
            line = Line(full)
            found.append(line)
        if step != "take":
            line.told = full
        before = line.left()
        if step == "count":
            taken[shelf(full)] = 0
            there = line.places.get(place, 0) + line.places.get("", 0) if place else before
            came = sum(other[4] for other in that_day if other[1] == "put" and alike(other[2], full))
            much = max(much, min(much + came, there))
        elsewhere = 0.0
        counts = [other[2] for other in that_day if other[1] == "count"]
        if step == "take" and any(shelf(one) == shelf(full) if not full["lot"] else alike(one, full) for one in counts):
            elsewhere = much
        elif step == "take" and full["lot"] is None:
            others = sum(one.left() for one in found if one is not line and shelf(one.told) == shelf(full))
            on_it = [other for begins, other in days if begins <= when < other[0] and shelf(other[2]) == shelf(full)]
            others += sum(other[4] for other in on_it if other[1] != "take" and not alike(other[2], full))
            elsewhere = max(min(much, others - taken.get(shelf(full), 0)), 0)
            taken[shelf(full)] = taken.get(shelf(full), 0) + elsewhere
        line.tell(step, place, much - elsewhere)
        yield when, line, before


def order(step: Step) -> Any:
    """At one instant: what came, what went from places, what went, counts of sites, counts of places; by counter."""
    when, what, part, place, much = step
    nth = [("put", False), ("put", True), ("take", True), ("take", False), ("count", False), ("count", True)]
    rank = max(nth.index((what, bool(place))), 1)
    sender = part.get("device") or "", -1 if part.get("device_seq") is None else part["device_seq"]
    return when, rank, *sender, place, much, part["lot"] or "", part["expires"] or "", part["unit"]


def only_expiry(part: Message, said: list[Message]) -> str | None:
    """Give the expiry of a lot that has no other at its site."""
    if part["lot"] is None:
        return None
    same = [one for one in said if (one["site"], one["item"]) == (part["site"], part["item"]) and one["lot"]]
    found = {one["expires"] for one in same if one["expires"] and compare(one["lot"], part["lot"]) == 0}
    return min(found) if len({clock.expiry_day(one) for one in found}) == 1 else None


def alike(one: Message, other: Message) -> bool:
    """Say whether two are of one line."""
    left, right = one["lot"], other["lot"]
    same = left is right if left is None or right is None else compare(left, right) == 0
    return same and key(one)[:2] + key(one)[3:] == key(other)[:2] + key(other)[3:]


def key(part: Message) -> tuple[str, str, str | None, date | None, str]:
    """Give what tells a line from others."""
    unit = part["unit"].lower()
    expires = None if part["expires"] is None else clock.expiry_day(part["expires"])
    return part["site"], part["item"], part["lot"], expires, "each" if unit in ONES else unit


def shelf(part: Message) -> tuple[Any, ...]:
    """Give what may have been taken in place of another where no lot is said."""
    site, item, _, _, unit = key(part)
    return site, item, unit


def stock(left: list[Line], criteria: list[Message]) -> dict[Key, tuple[float, bool]]:
    """Say what is left of what the criteria mean, with whether it is known to be meant."""
    of_parts = [one for one in criteria if any(one.get(name) for name in OF_PARTS)]
    found = {}
    for line in left:
        says = max((of_part({**one, "model": None}, "", line.told) for one in of_parts), default=NO)
        if says and line.left() > 0:
            told = line.told
            found[told["site"], told["item"], told["lot"], told["expires"], told["unit"]] = (line.left(), says == YES)
    return found


def touches(record: Record) -> bool:
    """Say whether an event may say anything of stock."""
    return record.kind.startswith("stock-") or record.kind in SWAPS or record.kind == "repaired"


def moved(record: Record, world: World, at: datetime) -> Iterator[tuple[str, Message, str, float]]:
    """Walk what an event does to stock: the step, the part, the place and how much."""
    said = record.message
    if record.kind.startswith("stock-"):
        part = {name: said.get(name) for name in ("site", "item", "lot", "expires", "unit", "device", "device_seq")}
        step = {"stock-counted": "count", "stock-received": "put"}.get(record.kind, "take")
        yield step, part, said.get("place") or "", said["quantity"]
        if record.kind == "stock-moved":
            yield "put", {**part, "site": said["to_site"]}, "", said["quantity"]
        return
    parts = [said.get("in")] if record.kind in SWAPS else [one["part"] for one in said.get("parts") or []]
    for new in parts:
        if new is not None and new["condition"] == "new" and said.get("site"):
            item = world.book.thing("item", new["item"], at) or {"unit": "each"}
            part = {name: new.get(name) for name in ("item", "lot", "expires")}
            sender = {name: said.get(name) for name in ("device", "device_seq")}
            yield "take", {**part, **sender, "site": said["site"], "unit": item["unit"]}, "", 1.0
