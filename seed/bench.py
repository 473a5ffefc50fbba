"""The bench: mending, examining, sending away, releasing and retiring withdrawn units."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

from seed.checking import check
from seed.days import is_working, moment, working_after
from seed.examining import examine
from seed.handing import clean, leave_hand
from seed.lots import lot_of
from seed.parts import item_for, part
from seed.plant import Job, Plant
from seed.unit import Fitted, Unit
from seed.world import World

WORK = {"tube": "tube-renewed", "headtop": "headtop-renewed", "battery": "battery-renewed"}
Step = Callable[[World, Plant, Unit, datetime], tuple[str, int] | None]


def work(world: World, plant: Plant, today: date) -> None:
    """Do the jobs that are due; each step says what comes next and after how many working days."""
    if not is_working(plant.site, today):
        return
    due = [job for job in plant.bench if job.on <= today]
    plant.bench = [job for job in plant.bench if job.on > today]
    for job in due:
        at = moment(plant.site, today, 10 * 60 + world.dice.between(0, 240))
        then = STEPS[job.step](world, plant, job.unit, at)
        if then is not None:
            plant.bench.append(Job(job.unit, then[0], working_after(plant.site, today, then[1])))


def collect(world: World, plant: Plant, unit: Unit, at: datetime) -> tuple[str, int]:
    """Hand in a unit that was ordered out of use from a desk."""
    leave_hand(plant, unit)
    world.about(plant, unit, "returned", at, plant.keeper, "kiosk", {"place": "quarantine-cage"})
    unit.phase, unit.clean = "quarantined", False
    return "examine", world.dice.between(1, 4)


def repair(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    """Repair, check and release, all in one day."""
    technician = world.dice.choice(plant.technicians)
    at = world.about(plant, unit, "repaired", at, technician, "bench", _mended(world, unit, at))
    at = check(world, plant, unit, at + timedelta(minutes=15), technician, wearer=None)
    release(world, plant, unit, at)


def examined(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    """Examine and release."""
    release(world, plant, unit, examine(world, plant, unit, at))


def release(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    """Release a unit that has its ground, and clean it for the store."""
    at = world.about(plant, unit, "released", at + timedelta(minutes=world.dice.between(5, 60)), plant.lead, "lead")
    unit.phase = "in-store"
    clean(world, plant, unit, at + timedelta(minutes=10), plant.keeper)


def send(world: World, plant: Plant, unit: Unit, at: datetime) -> tuple[str, int]:
    """Send a unit to service."""
    fields = {"provider": "workshop-north", "reference": f"job-{world.dice.between(10000, 99999)}"}
    world.about(plant, unit, "sent-to-service", at, plant.technicians[0], "bench", fields)
    unit.phase = "at-service"
    return "back", world.dice.between(8, 18)


def back(world: World, plant: Plant, unit: Unit, at: datetime) -> tuple[str, int]:
    """Take a unit back from service; it is examined before it is released."""
    world.about(plant, unit, "returned", at, plant.keeper, "kiosk", {"place": "quarantine-cage"})
    unit.phase = "quarantined"
    return "examine", 1


def retire(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    """Retire a unit for good."""
    fields = {
        "reason": world.dice.choice(("worn-out", "damaged", "obsolete")),
        "disposal": "taken apart, parts kept as scrap",
    }
    world.about(plant, unit, "retired", at, plant.lead, "lead", fields)
    unit.phase = "retired"


def _mended(world: World, unit: Unit, at: datetime) -> dict[str, object]:
    spares = [position for position in unit.model.positions if position.role in WORK]
    if not spares or world.dice.happens(0.4):
        return {"points": [unit.model.points[0].point], "work": ["cleaned-inside", "function-tested"]}
    position = world.dice.choice(spares)
    lot = lot_of(item_for(world, position, unit.size), at.date(), 1, "A")
    new = Fitted(lot.item, lot.lot, lot.expires, at.date())
    unit.parts[position.position] = new
    if position.role == "battery":
        unit.capacity = 98.0
    return {"work": [WORK[position.role]], "parts": [{"position": position.position, "part": part(new)}]}


STEPS: dict[str, Step] = {
    "collect": collect,
    "repair": repair,
    "examine": examined,
    "service": send,
    "back": back,
    "retire": retire,
}
