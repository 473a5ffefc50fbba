"""Corrections: entries voided and written again, new tags, lots read later, exceptions seen and answered."""

from datetime import date, datetime, timedelta
from hashlib import sha256
from uuid import UUID

from seed.checking import check, failing_check
from seed.days import is_working, moment
from seed.handing import clean, leave_hand
from seed.mishaps import withdrawing
from seed.parts import part
from seed.plant import Plant
from seed.unit import Fitted, Unit, Wearer
from seed.world import World

MISTYPED = 0.022
WRONG_UNIT = 0.004
NEW_TAG = 0.004
READ_LATER = 0.05
ANSWERED = 0.02
TAKEN_BACK = 0.05
UNREAD_DAYS = 60


def go(world: World, plant: Plant, today: date) -> None:
    """Correct what was found wrong at a site today, if anything."""
    if not is_working(plant.site, today):
        return
    dice = world.dice
    pairs = [(one, one.unit) for one in plant.wearers if one.unit and one.unit.phase == "issued" and not one.unit.fate]
    if pairs and dice.happens(MISTYPED):
        mistyped(world, plant, *dice.choice(pairs), today)
    if pairs and dice.happens(WRONG_UNIT):
        wrong_unit(world, plant, *dice.choice(pairs), today)
    if dice.happens(NEW_TAG):
        _new_tag(world, plant, today)
    if dice.happens(READ_LATER):
        _read_lot(world, plant, today)
    missed = [unit for _, unit in pairs if unit.missed is not None and unit.missed < today]
    if missed and dice.happens(ANSWERED):
        _answer(world, plant, dice.choice(missed), today)


def mistyped(world: World, plant: Plant, wearer: Wearer, unit: Unit, today: date) -> None:
    """Void a check that was typed for the wrong unit."""
    at = moment(plant.site, today, 12 * 60 + world.dice.between(0, 90))
    at = check(world, plant, unit, at, wearer.ref, wearer=wearer.ref)
    target = world.book.last_id()
    _void(world, plant, target, at + timedelta(minutes=world.dice.between(5, 90)), "typed for another unit")
    if world.dice.happens(TAKEN_BACK):
        _void(world, plant, world.book.last_id(), at + timedelta(minutes=120), "the first entry was right after all")


def wrong_unit(world: World, plant: Plant, wearer: Wearer, unit: Unit, today: date) -> None:
    """Report a failure of the wrong unit, void it, and release the unit on the voiding and another person's check."""
    point = world.dice.choice(withdrawing(unit))
    at = failing_check(world, plant, unit, moment(plant.site, today, 13 * 60 + 10), wearer.ref, point)
    target = world.book.last_id()
    at = world.about(
        plant, unit, "returned", at + timedelta(minutes=6), wearer.ref, "kiosk", {"place": "quarantine-cage"}
    )
    leave_hand(plant, unit)
    _void(world, plant, target, at + timedelta(minutes=20), "the failure was another unit's")
    voiding = world.book.last_id()
    unit.last = at + timedelta(minutes=25)
    at = check(world, plant, unit, unit.last, plant.technicians[0], wearer=None)
    at = world.about(plant, unit, "released", at + timedelta(minutes=10), plant.lead, "lead", {"voiding": voiding})
    unit.phase = "in-store"
    clean(world, plant, unit, at + timedelta(minutes=5), plant.keeper)


def _void(world: World, plant: Plant, target: str, at: datetime, reason: str) -> None:
    world.note(plant, "voided", at, plant.lead, {"event": target, "reason": reason})


def _new_tag(world: World, plant: Plant, today: date) -> None:
    """Give a unit a new tag where its old one can't be read."""
    units = [unit for unit in plant.units if unit.spare and unit.top is None]
    if not units:
        return
    unit = world.dice.choice(units)
    new = f"FX-{int(unit.tag[3:]) + 1000:04d}"
    world.about(plant, unit, "retagged", moment(plant.site, today, 11 * 60), plant.lead, "lead", {"new_tag": new})
    unit.tag = new


def _read_lot(world: World, plant: Plant, today: date) -> None:
    """Read the lot of a part that was fitted without one; the newest ones wait until somebody asks."""
    if today >= world.before_end(UNREAD_DAYS):
        return
    unread = [
        (unit, position, fitted)
        for unit in plant.units
        for position, fitted in unit.parts.items()
        if fitted.lot is None and unit.phase in {"issued", "in-store"}
    ]
    if unread:
        _identify(world, plant, *unread[0], today)


def _identify(world: World, plant: Plant, unit: Unit, position: str, fitted: Fitted, today: date) -> None:
    known = plant.shelf.first(fitted.item)
    if known is None:
        return
    fitted.lot, fitted.expires = known.lot, known.expires
    at = moment(plant.site, today, 14 * 60 + world.dice.between(0, 60))
    fields = {"position": position, "part": part(fitted)}
    world.about(plant, unit, "part-identified", at, plant.technicians[0], "bench", fields)


def _answer(world: World, plant: Plant, unit: Unit, today: date) -> None:
    """Acknowledge that a unit went to work without a check, by the name that the report gives such a use."""
    shift = f"{plant.site.ref}/{unit.missed}/{plant.site.shifts[0].name}"
    fields = {
        "report": "used-without-check",
        "row": str(_use(UUID(unit.born), shift)),
        "reason": "spoken with the wearer",
    }
    world.note(plant, "exception-acknowledged", moment(plant.site, today, 16 * 60), plant.lead, fields)
    unit.missed = None


def _use(unit: UUID, shift: str) -> UUID:
    """Name a use as the service does: 128 bits of its unit and its shift, marked as a UUID of version 8 (RFC 9562)."""
    mixed = unit.int ^ int.from_bytes(sha256(shift.encode()).digest()[:16])
    return UUID(int=mixed & ~(0xF << 76 | 0x3 << 62) | 0x8 << 76 | 0x2 << 62)
