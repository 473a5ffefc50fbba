"""Hands: issuing a unit, taking it back, cleaning it, making it fit to be issued."""

from datetime import datetime, timedelta

from seed.checking import check
from seed.examining import examine, owed
from seed.plant import Plant
from seed.unit import Unit, Wearer
from seed.world import World

HURRY = 0.03
METHODS = ("wiped", "wiped", "wiped", "washed", "disinfected")


def clean(world: World, plant: Plant, unit: Unit, at: datetime, by: str) -> datetime:
    """Post that the whole unit was cleaned."""
    unit.clean = True
    return world.about(plant, unit, "cleaned", at, by, "kiosk", {"scope": "unit", "method": world.dice.choice(METHODS)})


def make_ready(world: World, plant: Plant, unit: Unit, at: datetime) -> datetime:
    """Clean and examine a unit of the store where either is owed; now and then somebody is in a hurry."""
    if not unit.clean and not world.dice.happens(HURRY):
        at = clean(world, plant, unit, at, plant.keeper)
    if owed(plant, unit, at.date()) and not (unit.examined and world.dice.happens(HURRY)):
        at = examine(world, plant, unit, at + timedelta(minutes=2))
    return at


def issue(world: World, plant: Plant, unit: Unit, wearer: Wearer, at: datetime) -> datetime:
    """Make a unit ready, have its wearer check it, and issue it."""
    at = make_ready(world, plant, unit, at)
    at = check(world, plant, unit, at + timedelta(minutes=2), wearer.ref, wearer=wearer.ref)
    at = world.about(plant, unit, "issued", at, plant.keeper, "kiosk", {"holder": {"person": wearer.ref}})
    unit.phase, unit.clean, unit.kept_for, wearer.unit = "issued", False, wearer.ref, unit
    return at


def take_back(world: World, plant: Plant, unit: Unit, at: datetime, by: str, *, wash: bool = True) -> datetime:
    """Take a unit back into the store and, mostly, clean it there."""
    at = world.about(
        plant, unit, "returned", at, by, "kiosk", {"place": world.dice.choice(("rack-1", "rack-2", "rack-3"))}
    )
    unit.phase = "in-store"
    if wash and world.dice.happens(0.98):
        at = clean(world, plant, unit, at + timedelta(minutes=world.dice.between(4, 20)), plant.keeper)
    return at


def holder_of(plant: Plant, unit: Unit) -> Wearer | None:
    """Find the wearer who has the unit in hand."""
    return next((wearer for wearer in plant.wearers if wearer.unit is unit), None)


def leave_hand(plant: Plant, unit: Unit) -> None:
    """Take a unit from whoever has it; it is nobody's own any more."""
    wearer = holder_of(plant, unit)
    if wearer is not None:
        wearer.unit = None
    unit.kept_for = None


def find_spare(plant: Plant, wearer: Wearer) -> Unit | None:
    """Find the wearer's own unit in the store, else a free one of the model and size."""
    own = next((unit for unit in plant.units if unit.kept_for == wearer.ref and unit.phase == "in-store"), None)
    if own is not None:
        return own
    return next((unit for unit in plant.units if unit.spare and _suits(unit, wearer)), None)


def _suits(unit: Unit, wearer: Wearer) -> bool:
    return unit.model is wearer.model and unit.size == wearer.size
