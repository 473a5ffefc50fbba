"""The world of a simulation: its sites, its units, and the book of what happened, in true time.

It goes up to a moment of the recent past and no further: even a clock that is ahead shows nothing of the future.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import msgspec

from seed.book import Book, Entry
from seed.days import moment
from seed.dice import Dice
from seed.simulation.day import live, register
from seed.simulation.places import Place, define, mark_of, models, places
from seed.simulation.scale import Scale
from seed.unit import Unit

AGO = timedelta(minutes=65)
"""How long ago the simulated time ends: more than the hour after which bad news without a clock is late (R8)."""
LATE_BOUGHT = 0.1
NOON = 12 * 60


class World(msgspec.Struct, eq=False, kw_only=True):
    """Everything that changes while the days go by."""

    dice: Dice
    book: Book
    places: dict[str, Place]
    units: list[Unit]

    def place_of(self, unit: Unit) -> Place:
        """Give the site that a unit is at."""
        return self.places[unit.home]

    def reach(self, unit: Unit, today: date, minute: float) -> None:
        """Let time pass for a unit up to a minute of the local day, if that is still to come."""
        unit.last = max(unit.last, moment(self.place_of(unit).site, today, minute))

    def tell(self, unit: Unit, kind: str, by: str, device: str, **fields: object) -> None:
        """Write down what happens to a unit, some minutes after the last thing that did.

        No two things happen in the same microsecond of any second, whatever whole seconds a clock is off.
        """
        unit.last += timedelta(seconds=self.dice.between(60, 240))
        at = unit.last.replace(microsecond=len(self.book.entries))
        self.book.write(kind, at, by, unit.home, device, {"asset": unit.tag, **fields})


class Played(msgspec.Struct, frozen=True, kw_only=True):
    """What happened: `before` defines the firm, `entries` happened in true time and in its order; `days` are whole."""

    end: datetime
    mark: str
    places: tuple[Place, ...]
    before: tuple[Entry, ...]
    entries: tuple[Entry, ...]
    days: tuple[date, ...]

    @property
    def eve(self) -> date:
        """Give the day on which the units are bought."""
        return self.days[0] - timedelta(days=1)


def play(scale: Scale, now: datetime) -> Played:
    """Play the whole days up to `now` and what there is of the last. The same arguments give the same messages."""
    end = (now.astimezone(UTC) - AGO).replace(microsecond=0)
    mark = mark_of(now)
    days = tuple(end.date() - timedelta(days=ago) for ago in range(scale.days, 0, -1))
    ids = int(now.timestamp() * 1000) * 1_000_000 + 2 * scale.seed  # of its own in every run, that of one seed too
    before, book = Book(ids), Book(ids + 1)
    define(before, scale, end, mark)
    every = places(mark, scale.sites)
    dice = Dice.named(scale.seed, "simulation")
    world = World(dice=dice, book=book, places={place.site.ref: place for place in every}, units=[])
    world.units = list(_units(world, scale, mark, days))
    for day in (*days, end.date()):
        for unit in world.units:
            live(world, unit, day)
    return Played(
        end=end,
        mark=mark,
        places=every,
        before=tuple(before.entries),
        entries=tuple(sorted((one for one in book.entries if one.at <= end), key=lambda one: one.at)),
        days=days,
    )


def _units(world: World, scale: Scale, mark: str, days: tuple[date, ...]) -> Iterator[Unit]:
    """Buy the units: most the day before the first, some on a later one."""
    kinds, refs = models(mark), list(world.places)
    eve = days[0] - timedelta(days=1)
    for number in range(scale.assets):
        home = refs[number % len(refs)]
        born = world.dice.choice(days) if world.dice.happens(LATE_BOUGHT) else eve
        unit = Unit(
            tag=f"{mark}-{number:05d}",
            serial=f"{mark}/{number}",
            model=kinds[number // len(refs) % len(kinds)],
            role="personal",
            use="routine",
            home=home,
            last=moment(world.places[home].site, born, NOON + world.dice.between(0, 240)),
        )
        register(world, unit)
        yield unit
