"""What goes wrong with a unit in hand: rechecks, withdrawals, alarms in use, orders from a desk."""

from datetime import date, datetime, timedelta

from seed.checking import check, failing_check
from seed.days import moment, working_after
from seed.handing import leave_hand
from seed.models import Point
from seed.parts import fit
from seed.plant import Job, Plant
from seed.unit import Unit, Wearer
from seed.world import MANAGER, World

SIGNS = (
    "low-flow-alarm",
    "low-flow-alarm",
    "fan-stopped",
    "smell-or-taste",
    "dropped",
    "burnt",
    "wet",
    "battery-swollen",
)
CAGE = "quarantine-cage"


def recheck(world: World, plant: Plant, unit: Unit, wearer: Wearer, at: datetime) -> datetime:
    """Fail a point that may be put right on the spot, put it right and check again."""
    point = world.dice.choice([point for point in unit.model.points if point.on_fail == "recheck"])
    at = failing_check(world, plant, unit, at, wearer.ref, point)
    if point.role == "battery" and world.dice.happens(0.5):
        at = fit(world, plant, unit, "battery", at + timedelta(minutes=2), wearer.ref, "other")
    return check(world, plant, unit, at + timedelta(minutes=world.dice.between(2, 9)), wearer.ref, wearer=wearer.ref)


def withdraw(world: World, plant: Plant, unit: Unit, wearer: Wearer, at: datetime) -> datetime:
    """Fail a point that takes the unit out of use, and bring it away."""
    point = world.dice.choice(withdrawing(unit))
    at = failing_check(world, plant, unit, at, wearer.ref, point)
    return bring_away(world, plant, unit, at, wearer.ref, "failed")


def withdrawing(unit: Unit) -> list[Point]:
    """List the points of a unit whose failure takes it out of use."""
    return [point for point in unit.model.points if point.on_fail == "withdraw"]


def fail_in_use(world: World, plant: Plant, unit: Unit, wearer: Wearer, at: datetime) -> datetime:
    """Let the unit fail while it is worn: leave the area, and bring it away."""
    sign = world.dice.choice(SIGNS if unit.model.powered else SIGNS[3:7])
    fields = {"signs": [sign], "left_area": world.dice.happens(0.95), "wearer": wearer.ref}
    at = world.about(plant, unit, "failed-in-use", at, wearer.ref, "kiosk", fields)
    return bring_away(world, plant, unit, at, wearer.ref, "damage" if sign in {"dropped", "burnt"} else "failed")


def bring_away(world: World, plant: Plant, unit: Unit, at: datetime, by: str, reason: str) -> datetime:
    """Lock a withdrawn unit away, or hand it in; either way it goes to the bench."""
    at += timedelta(minutes=world.dice.between(5, 40))
    if world.dice.happens(0.75):
        at = world.about(plant, unit, "quarantined", at, by, "kiosk", {"reason": reason, "place": CAGE})
    else:
        at = world.about(plant, unit, "returned", at, by, "kiosk", {"place": CAGE})
    to_bench(world, plant, unit, at.date())
    return at


def to_bench(world: World, plant: Plant, unit: Unit, today: date) -> None:
    """Put a withdrawn unit on the bench: most are mended there, some go to service, few are given up."""
    leave_hand(plant, unit)
    unit.phase, unit.clean = "quarantined", False
    step = world.dice.choices(("repair", "examine", "service", "retire"), (58, 25, 10, 7))[0]
    plant.bench.append(Job(unit, step, working_after(plant.site, today, world.dice.between(2, 9))))


def from_a_desk(world: World, plant: Plant, unit: Unit, today: date) -> None:
    """Order a unit out of use from a desk; it comes to the store a few days later."""
    fields = {"reason": world.dice.choice(("suspect", "contamination", "other", "overdue"))}
    at = world.about(plant, unit, "quarantined", moment(plant.site, today, 9 * 60 + 30), MANAGER, "lead", fields)
    unit.phase = "held-in-hand"
    plant.bench.append(Job(unit, "collect", working_after(plant.site, at.date(), world.dice.between(1, 4))))
