"""The examiners' rounds: units in hand, in pools and in cabinets are examined when their day has come."""

from datetime import date, datetime, timedelta

from seed.care import reason_to_replace
from seed.days import is_working, moment
from seed.examining import examine
from seed.handing import clean
from seed.mishaps import to_bench
from seed.parts import fit
from seed.plant import Plant
from seed.unit import Unit
from seed.world import World

FAILS = 0.008
LAPSES_FROM = 48
LAPSES = frozenset({"examination-lapses", "examined-with-lapsed-meter", "examined-without-competence"})
EXAMINED = frozenset({"issued", "stationed", "in-store"})


def go(world: World, plant: Plant, today: date) -> None:
    """Examine what is planned for today or was planned for a day without work before it."""
    if not is_working(plant.site, today):
        return
    for unit in plant.units:
        if unit.examine_on is not None and unit.examine_on <= today and unit.phase in EXAMINED:
            _round(world, plant, unit, today)


def _round(world: World, plant: Plant, unit: Unit, today: date) -> None:
    """Examine one unit, unless it lies unused in the store or the scenario wants it forgotten."""
    if unit.phase == "in-store" and unit.role == "personal" and unit.examined is not None:
        return
    if unit.fate in LAPSES and today >= world.before_end(LAPSES_FROM):
        return
    at = moment(plant.site, today, 9 * 60 + world.dice.between(0, 300))
    if not unit.clean and unit.role == "cabinet":
        at = clean(world, plant, unit, at, plant.keeper) + timedelta(minutes=5)
    if unit.role != "personal":
        at = _renew(world, plant, unit, at)
    passes = unit.fate is not None or not world.dice.happens(FAILS)
    examine(world, plant, unit, at, passes=passes)
    if not passes:
        to_bench(world, plant, unit, today)


def _renew(world: World, plant: Plant, unit: Unit, at: datetime) -> datetime:
    """Renew the parts of a shared unit that nobody cares for day by day."""
    for position in unit.model.positions:
        reason = reason_to_replace(unit, position, at.date())
        if reason is not None:
            at = fit(world, plant, unit, position.position, at, plant.technicians[0], reason) + timedelta(minutes=3)
    return at
