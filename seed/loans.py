"""Loans between sites: a spare goes where it is needed, and mostly comes back."""

from datetime import date

import msgspec

from seed.days import is_working, moment, working_after
from seed.plant import Plant
from seed.unit import Unit
from seed.world import World

LENDS = 0.028
DAYS_AT_HOME = 30
"""The first month every unit stays where it was bought."""
UNNOTED = 0.15
NEIGHBOURS = {
    "harrow-dock": "callow-forge",
    "callow-forge": "eastmere-yard",
    "eastmere-yard": "harrow-dock",
    "pellbrook": "saltreach",
    "saltreach": "brackmoor",
    "brackmoor": "pellbrook",
    "cedar-flats": "marrow-bend",
    "marrow-bend": "cedar-flats",
}


class Parcel(msgspec.Struct, eq=False):
    """A unit on its way: where it goes, the day it arrives, and whether anybody notes its arrival."""

    unit: Unit
    target: str
    on: date
    noted: bool = True


def send(world: World, plant: Plant, today: date) -> Parcel | None:
    """Send a spare to the neighbour now and then, or send one home that is out on loan."""
    target = NEIGHBOURS.get(plant.site.ref)
    if (
        target is None
        or not is_working(plant.site, today)
        or not world.dice.happens(LENDS)
        or today > world.before_end(8)
    ):
        return None
    spares = [unit for unit in plant.units if unit.spare and (today - unit.last.date()).days > 1]
    if not spares or (today - world.start).days < DAYS_AT_HOME:
        return None
    unit = next((unit for unit in spares if unit.home != plant.site.ref), world.dice.choice(spares))
    if unit.home != plant.site.ref:
        target = unit.home
    at = moment(plant.site, today, 13 * 60 + world.dice.between(0, 120))
    world.about(plant, unit, "moved", at, plant.keeper, "kiosk", {"to_site": target})
    unit.phase = "in-transit"
    plant.units.remove(unit)
    return Parcel(
        unit, target, working_after(plant.site, today, world.dice.between(1, 4)), not world.dice.happens(UNNOTED)
    )


def arrive(world: World, parcel: Parcel) -> None:
    """Put a unit into the store it was sent to; now and then nobody notes that it came."""
    plant = world.plants[parcel.target]
    if parcel.noted:
        at = moment(plant.site, parcel.on, 9 * 60 + world.dice.between(0, 90))
        world.about(plant, parcel.unit, "received", at, plant.keeper, "kiosk")
    parcel.unit.phase = "in-store"
    plant.units.append(parcel.unit)
