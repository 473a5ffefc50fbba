"""How some units are meant to end: the exceptions that a manager should find on the last day.

What may live here: each fate, how many units share it, and which they may be, as a table. Fates are given out
`GIVEN` days before the end; from then on chance leaves these units alone.
"""

from collections.abc import Callable
from datetime import date

import msgspec

from seed.examining import EXPIRED_SITE
from seed.handing import holder_of
from seed.instruments import LAPSED_SITE
from seed.plant import Plant
from seed.unit import Unit
from seed.world import World

GIVEN = 60


class Fate(msgspec.Struct, frozen=True):
    """One way to end: its name, how many units, and who may share it."""

    name: str
    count: int
    suits: Callable[[Plant, Unit], bool]


def in_hand(plant: Plant, unit: Unit) -> bool:
    """Say whether the unit is a personal one in somebody's hand."""
    return unit.role == "personal" and unit.phase == "issued" and holder_of(plant, unit) is not None


def _british(plant: Plant, unit: Unit) -> bool:
    return plant.site.profile == "uk" and in_hand(plant, unit)


def _powered(plant: Plant, unit: Unit) -> bool:
    return in_hand(plant, unit) and unit.model.powered


def _cabinet(plant: Plant, unit: Unit) -> bool:
    return plant.site.profile == "us" and unit.phase == "stationed"


def _spare(_plant: Plant, unit: Unit) -> bool:
    return unit.spare


FATES: tuple[Fate, ...] = (
    Fate("examined-with-lapsed-meter", 2, lambda plant, unit: plant.site.ref == LAPSED_SITE and _powered(plant, unit)),
    Fate("examined-without-competence", 1, lambda plant, unit: plant.site.ref == EXPIRED_SITE and in_hand(plant, unit)),
    Fate("examination-lapses", 2, _cabinet),
    Fate("examination-lapses", 3, _british),
    Fate("worn-out-battery", 1, lambda plant, unit: _british(plant, unit) and unit.model.powered),
    Fate("expired-filter", 1, _powered),
    Fate("loaded", 2, _powered),
    Fate("unlisted-part", 1, _powered),
    Fate("not-cleaned", 1, lambda plant, unit: _powered(plant, unit) and not unit.model.sized),
    Fate("failed-in-hand", 2, in_hand),
    Fate("ordered-from-a-desk", 1, in_hand),
    Fate("forgotten-on-leave", 2, in_hand),
    Fate("missing", 3, in_hand),
    Fate("in-transit", 2, _spare),
    Fate("at-service", 3, _spare),
    Fate("put-away", 2, in_hand),
)


def give_out(world: World, today: date) -> None:
    """Give every fate to as many units as it wants, spread over the sites by chance."""
    if today != world.before_end(GIVEN):
        return
    for fate in FATES:
        free = [
            (plant, unit)
            for plant in world.plants.values()
            for unit in plant.units
            if unit.fate is None and unit.top is None and fate.suits(plant, unit)
        ]
        for plant, unit in world.dice.sample(free, min(fate.count, len(free))):
            unit.fate = fate.name
            _stay(plant, unit, today)


def _stay(plant: Plant, unit: Unit, today: date) -> None:
    """Keep the wearer of a marked unit at work until the end, so that the unit stays in hand."""
    wearer = holder_of(plant, unit)
    if wearer is not None:
        wearer.away = tuple(span for span in wearer.away if span[1] < today)
