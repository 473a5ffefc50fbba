"""Emergency cabinets: drills, the seldom real use, and the check and cleaning owed after both."""

from datetime import date, timedelta

from seed.checking import check
from seed.days import is_working, moment
from seed.handing import clean
from seed.plant import Plant
from seed.unit import Unit
from seed.world import World

DRILL = 0.007
ALARM = 0.0006


def go(world: World, plant: Plant, today: date) -> None:
    """Hold drills at the cabinets of a site, and very seldom need one of them."""
    if not is_working(plant.site, today):
        return
    for unit in plant.role("cabinet"):
        if unit.phase != "stationed" or unit.fate is not None or unit.last.date() > today:
            continue
        throw = world.dice.random()
        if throw < DRILL:
            _use(world, plant, unit, today, "training")
        elif throw < DRILL + ALARM:
            _use(world, plant, unit, today, "emergency")


def _use(world: World, plant: Plant, unit: Unit, today: date, purpose: str) -> None:
    """Check, wear, check and clean the unit, which stays stationed (29 CFR 1910.134(h)(3)(i)(B), (h)(1)(iii)-(iv))."""
    wearer = world.dice.choice(plant.crew)
    at = moment(plant.site, today, 11 * 60 + world.dice.between(0, 200))
    if purpose == "training" or world.dice.happens(0.7):
        at = check(world, plant, unit, at, wearer, wearer=wearer) + timedelta(minutes=4)
    until = at + timedelta(minutes=world.dice.between(8, 25))
    at = world.about(
        plant, unit, "worn", at, wearer, "kiosk", {"wearer": wearer, "until": until.isoformat(), "purpose": purpose}
    )
    unit.clean = False
    if world.dice.happens(0.95):
        at = check(world, plant, unit, until + timedelta(minutes=5), wearer, wearer=wearer)
        clean(world, plant, unit, at + timedelta(minutes=12), plant.keeper)
