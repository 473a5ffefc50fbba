"""Losses: units that nobody can find, and those that turn up again."""

from datetime import date

from seed.days import is_working, moment, working_after
from seed.handing import leave_hand
from seed.plant import Job, Plant
from seed.unit import Unit
from seed.world import World

LOST = 0.00022
FOUND = 0.07
GIVEN_UP_DAYS = 75
PLACES = ("bay-2", "changing-room", "van", "canteen", "paint-shop")


def go(world: World, plant: Plant, today: date) -> None:
    """Lose a unit now and then, find some of the lost ones, give up on the others."""
    if not is_working(plant.site, today):
        return
    for unit in plant.units:
        if unit.fate is not None or unit.role == "top":
            continue
        if unit.phase == "missing":
            _search(world, plant, unit, today)
        elif unit.phase in {"issued", "in-store"} and unit.role != "rack" and world.dice.happens(LOST):
            lose(world, plant, unit, today)


def lose(world: World, plant: Plant, unit: Unit, today: date) -> None:
    """Report a unit missing."""
    at = moment(plant.site, today, 15 * 60 + world.dice.between(0, 50))
    world.about(plant, unit, "missing", at, plant.keeper, "kiosk", {"last_place": world.dice.choice(PLACES)})
    leave_hand(plant, unit)
    unit.phase, unit.clean = "missing", False


def _search(world: World, plant: Plant, unit: Unit, today: date) -> None:
    at = moment(plant.site, today, 10 * 60 + world.dice.between(0, 240))
    if world.dice.happens(FOUND):
        world.about(plant, unit, "found", at, world.dice.choice(plant.crew), "kiosk", {"place": "quarantine-cage"})
        unit.phase = "quarantined"
        plant.bench.append(Job(unit, "examine", working_after(plant.site, today, world.dice.between(1, 4))))
    elif (today - unit.last.date()).days > GIVEN_UP_DAYS:
        world.about(plant, unit, "retired", at, plant.lead, "lead", {"reason": "lost"})
        unit.phase = "retired"
