"""Units that several people share: pool units issued to a crew, racks where each wearing is noted, occasional units."""

from collections.abc import Callable
from datetime import date, timedelta

from seed.care import reason_to_replace
from seed.checking import check
from seed.days import is_working, moment
from seed.handing import make_ready, take_back
from seed.mishaps import bring_away
from seed.mornings import work
from seed.parts import fit
from seed.plant import Plant
from seed.sites import Shift
from seed.unit import Unit
from seed.world import World

POOL_FAILS = 0.004
UNNOTED = 0.012


def go(world: World, plant: Plant, today: date) -> None:
    """Take the shared units of a site through a working day; each is used in one shift at most."""
    if not is_working(plant.site, today):
        return
    for unit in plant.role(*USES):
        share, phase, use = USES[unit.role]
        if unit.phase == phase and unit.fate is None and unit.last.date() <= today and world.dice.happens(share):
            use(world, plant, unit, world.dice.choice(plant.site.shifts), today)


def _ready(world: World, plant: Plant, unit: Unit, shift: Shift, today: date, wearer: str) -> None:
    """Care for the unit, clean it where owed, and have its wearer check it before the shift."""
    at = moment(plant.site, today, shift.starts - world.dice.between(22, 45))
    for position in unit.model.positions:
        reason = reason_to_replace(unit, position, today)
        if reason is not None:
            at = fit(world, plant, unit, position.position, at, plant.keeper, reason)
    at = make_ready(world, plant, unit, at)
    check(world, plant, unit, at + timedelta(minutes=3), wearer, wearer=wearer)
    unit.clean = False
    work(unit)


def _use_in_crew(world: World, plant: Plant, unit: Unit, shift: Shift, today: date) -> None:
    wearer = world.dice.choice(plant.crew)
    _ready(world, plant, unit, shift, today, wearer)
    crew = f"{plant.site.code}-crew-{'a' if wearer <= plant.crew[len(plant.crew) // 2] else 'b'}"
    at = world.about(plant, unit, "issued", unit.last, plant.keeper, "kiosk", {"holder": {"crew": crew}})
    if world.dice.happens(POOL_FAILS):
        fields: dict[str, object] = {"signs": ["low-flow-alarm"], "left_area": True, "wearer": wearer}
        at = world.about(plant, unit, "failed-in-use", at + timedelta(hours=2), wearer, "kiosk", fields)
        bring_away(world, plant, unit, at, plant.keeper, "failed")
        return
    _hand_in(world, plant, unit, shift, today, wearer)


def _use_once(world: World, plant: Plant, unit: Unit, shift: Shift, today: date) -> None:
    wearer = world.dice.choice(plant.crew)
    _ready(world, plant, unit, shift, today, wearer)
    world.about(
        plant, unit, "issued", unit.last, plant.keeper, "kiosk", {"holder": {"person": wearer}, "task": "edge-grinding"}
    )
    _hand_in(world, plant, unit, shift, today, wearer)


def _hand_in(world: World, plant: Plant, unit: Unit, shift: Shift, today: date, wearer: str) -> None:
    ends = shift.starts + shift.lasts + world.dice.between(2, 25)
    take_back(world, plant, unit, moment(plant.site, today, ends), wearer)


def _wear_from_rack(world: World, plant: Plant, unit: Unit, shift: Shift, today: date) -> None:
    """Wear a unit that stays issued to its rack's crew for the shift; the wearing itself is noted."""
    wearer = world.dice.choice(plant.crew)
    if not world.dice.happens(UNNOTED):
        _ready(world, plant, unit, shift, today, wearer)
    starts = max(moment(plant.site, today, shift.starts + world.dice.between(0, 30)), unit.last + timedelta(minutes=1))
    until = starts + timedelta(minutes=world.dice.between(90, 300))
    fields = {"wearer": wearer, "until": until.isoformat(), "task": "blast-cleaning", "purpose": "routine"}
    world.about(plant, unit, "worn", starts, wearer, "kiosk", fields)
    unit.last = until
    if world.dice.happens(0.97):
        cleaned = until + timedelta(minutes=world.dice.between(3, 15))
        world.about(plant, unit, "cleaned", cleaned, wearer, "kiosk", {"scope": "unit", "method": "wiped"})
        unit.clean = True


Use = Callable[[World, Plant, Unit, Shift, date], None]
USES: dict[str, tuple[float, str, Use]] = {
    "pool": (0.27, "in-store", _use_in_crew),
    "rack": (0.3, "issued", _wear_from_rack),
    "occasional": (0.09, "in-store", _use_once),
}
