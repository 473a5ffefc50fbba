"""Care before the check: parts that are at their end are replaced before they are used again."""

from datetime import date, datetime, timedelta

from seed.items import BY_REF
from seed.lots import BAD_DAYS, BAD_ITEM, BAD_SITES
from seed.models import Position
from seed.parts import fit
from seed.plant import Plant
from seed.unit import Unit, Wearer
from seed.world import World

PUT_OFF = 0.25
NO_LOT = 0.012
NO_LOT_NOW = 0.13
GAS_DAYS = 150
MASK_DAYS = 27
WORN_CAPACITY = 80.0


def care(world: World, plant: Plant, unit: Unit, wearer: Wearer, at: datetime, put_off: float = PUT_OFF) -> datetime:
    """Replace what is at its end, unless it is put off for today, and give the moment after it."""
    if unit.neglected:
        return at
    for position in unit.model.positions:
        reason = reason_to_replace(unit, position, at.date())
        if reason is None or world.dice.happens(put_off):
            continue
        seen = not world.dice.happens(NO_LOT_NOW if careless(world, plant, unit, position, at.date()) else NO_LOT)
        at = fit(world, plant, unit, position.position, at, wearer.ref, reason, lot_seen=seen) + timedelta(minutes=2)
    return at


def careless(world: World, plant: Plant, unit: Unit, position: Position, today: date) -> bool:
    """Say whether lots are often not noted: filters, at the sites and in the weeks of the lot worth a recall."""
    bad = plant.site.ref in BAD_SITES and unit.parts[position.position].item == BAD_ITEM
    return bad and today > world.before_end(BAD_DAYS)


def reason_to_replace(unit: Unit, position: Position, today: date) -> str | None:
    """Say why the part in a position is replaced today, if it is."""
    fitted = unit.parts[position.position]
    item = BY_REF[fitted.item]
    if position.role == "particle" and unit.model.powered:
        return "loading" if unit.loading >= unit.model.change_at - 0.15 else None
    if position.role == "battery":
        return "other" if unit.capacity < WORN_CAPACITY else None
    if item.days and (today - fitted.since).days >= MASK_DAYS:
        return "service-limit"
    if item.opened_days and (today - fitted.since).days >= GAS_DAYS:
        return "schedule"
    return "schedule" if item.life and fitted.worked >= item.life else None
