"""Units come into the books: registered, examined for acceptance, put where they belong."""

from datetime import date, timedelta

from seed.days import moment, working_after
from seed.examining import examine
from seed.fleet import FLEETS, Fleet
from seed.lots import TUBE_ITEM, TUBE_LOT
from seed.models import BY_REF, Model
from seed.parts import first_parts, part
from seed.plant import Plant
from seed.staff import SIZES
from seed.unit import Unit
from seed.world import MANAGER, World

FIRST_HOUR = 8 * 60
HOUR_OF_UNITS = 90
"""Minutes in which units are registered; what is fitted to them follows, since it names them."""
TUBE_SHARE = 0.35
CABINET_MODEL = "pe-full-2"
TOP_MODEL = "ar-top-1"


def open_books(world: World, plant: Plant) -> None:
    """Register all that a site starts with, put shared units into their places, and plan acceptance."""
    fleet = FLEETS[plant.site.ref]
    _personal(world, plant, fleet)
    _shared(world, plant, fleet)
    for unit in plant.role("personal")[: fleet.tops]:
        unit.top = add(world, plant, BY_REF[TOP_MODEL], "top", world.start, fitted_to=unit.tag)
    for unit in plant.units:
        if unit.examined is None and unit.role != "top":
            unit.examine_on = working_after(plant.site, world.start, world.dice.between(1, 5))


def _personal(world: World, plant: Plant, fleet: Fleet) -> None:
    for wearer in plant.wearers:
        add(world, plant, wearer.model, "personal", world.start, size=wearer.size).kept_for = wearer.ref
    for ref, count in fleet.spares.items():
        for _ in range(count):
            add(world, plant, BY_REF[ref], "personal", world.start, size=_size(world, BY_REF[ref]))


def _shared(world: World, plant: Plant, fleet: Fleet) -> None:
    for number in range(fleet.cabinets):
        _station(world, plant, add(world, plant, BY_REF[CABINET_MODEL], "cabinet", world.start, size="M"), number)
    for _ in range(fleet.pool):
        add(world, plant, BY_REF["ar-hood-2"], "pool", world.start)
    for _ in range(fleet.racks):
        _rack(world, plant, add(world, plant, BY_REF["ar-hood-2"], "rack", world.start))
    for number in range(fleet.occasional):
        model = BY_REF[("ar-visor-4", "ar-hood-2")[number % 2]]
        _make_occasional(world, plant, add(world, plant, model, "occasional", world.start))


def add(  # what is registered, where and for what
    world: World,
    plant: Plant,
    model: Model,
    role: str,
    day: date,
    *,
    size: str | None = None,
    fitted_to: str | None = None,
) -> Unit:
    """Register a unit with the parts it comes with."""
    world.tags += 1
    start = FIRST_HOUR if fitted_to is None else FIRST_HOUR + HOUR_OF_UNITS
    at = moment(plant.site, day, start + world.dice.random() * HOUR_OF_UNITS)
    unit = Unit(
        tag=f"FX-{world.tags:04d}",
        serial=f"{model.maker[:2].upper()}{day:%y}-{world.dice.between(100, 999)}{world.tags:04d}",
        model=model,
        role=role,
        use="emergency" if role == "cabinet" else "routine",
        home=plant.site.ref,
        last=at - timedelta(minutes=2),
        size=size,
        parts=first_parts(world, model, size, day - timedelta(days=30)),
        dust=max(0.05, world.dice.near(0.09, 0.015)),
    )
    _older_tube(world, unit, day)
    fields = {
        "model": model.ref,
        "serial": unit.serial,
        "size": size,
        "use": unit.use,
        "made_on": (day - timedelta(days=world.dice.between(60, 500))).isoformat(),
        "acquired_on": (day - timedelta(days=world.dice.between(3, 40))).isoformat(),
        "fitted_to": fitted_to,
        "parts": [{"position": position, "part": part(fitted)} for position, fitted in unit.parts.items()] or None,
    }
    world.about(plant, unit, "registered", at, plant.keeper, "store", fields)
    unit.born = world.book.last_id()
    plant.units.append(unit)
    return unit


def _older_tube(world: World, unit: Unit, day: date) -> None:
    """Give some of the first units the tube lot that an earlier campaign was about."""
    tube = unit.parts.get("breathing-tube")
    if tube is not None and tube.item == TUBE_ITEM and day == world.start and world.dice.happens(TUBE_SHARE):
        tube.lot = TUBE_LOT


def _size(world: World, model: Model) -> str | None:
    return world.dice.choice(SIZES) if model.sized else None


def _station(world: World, plant: Plant, unit: Unit, number: int) -> None:
    day = working_after(plant.site, world.start, 1 + number % 3)
    at = examine(world, plant, unit, moment(plant.site, day, 9 * 60 + 10 * number))
    unit.place = f"{plant.site.code}-cabinet-{number + 1}"
    world.about(plant, unit, "stationed", at, plant.keeper, "kiosk", {"place": unit.place})
    unit.phase = "stationed"


def _rack(world: World, plant: Plant, unit: Unit) -> None:
    day = working_after(plant.site, world.start, 1)
    at = examine(world, plant, unit, moment(plant.site, day, 5 * 60 + world.dice.between(0, 300)))
    world.about(plant, unit, "issued", at, plant.keeper, "kiosk", {"holder": {"crew": f"{plant.site.code}-rack-crew"}})
    unit.phase = "issued"


def _make_occasional(world: World, plant: Plant, unit: Unit) -> None:
    fields = {"use": "occasional", "authorised_by": MANAGER, "reason": "used on fewer than three days a month"}
    world.about(plant, unit, "use-set", unit.last, plant.lead, "lead", fields)
    unit.use = "occasional"
