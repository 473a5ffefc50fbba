"""An earlier campaign that is long closed: one lot of breathing tubes, put right unit by unit."""

from datetime import date, datetime, timedelta

from seed.checking import check
from seed.days import is_working, moment
from seed.handing import holder_of
from seed.lots import TUBE_ITEM, TUBE_LOT
from seed.parts import fit, part
from seed.plant import Plant
from seed.unit import Fitted, Unit
from seed.world import MANAGER, World

RECALL = "rc-tubes"
OPENS, LASTS, ALL_FROM = 110, 45, 40
TUBE = "breathing-tube"
PACE = 0.3


def go(world: World, plant: Plant, today: date) -> None:
    """Put affected units of the site right while the campaign is open; all that are left in its last days."""
    day = (today - world.start).days - OPENS
    if not 0 < day <= LASTS or not is_working(plant.site, today):
        return
    for unit in plant.units:
        if _affected(unit) and (day > ALL_FROM or world.dice.happens(PACE)):
            _put_right(world, plant, unit, today)


def _affected(unit: Unit) -> bool:
    return TUBE in unit.parts and unit.parts[TUBE].lot == TUBE_LOT and unit.phase in {"issued", "in-store"}


def open_or_close(world: World, today: date) -> None:
    """Open the campaign on its first day and close it when it is over."""
    plant = world.plants["harrow-dock"]
    at = moment(plant.site, today, 9 * 60)
    day = (today - world.start).days - OPENS
    if day == 0:
        due = today + timedelta(days=LASTS)
        fields: dict[str, object] = {
            "recall": RECALL,
            "action": "rectify-by",
            "criteria": [{"item": TUBE_ITEM, "lots": [TUBE_LOT]}],
            "due_on": due.isoformat(),
            "notice": "Tubes of one lot may crack at the cuff.",
        }
        world.book.write("recall-opened", at, MANAGER, plant.site.ref, None, fields)
    if day == LASTS + 2:
        world.book.write("recall-closed", at, MANAGER, plant.site.ref, None, {"recall": RECALL})


def _put_right(world: World, plant: Plant, unit: Unit, today: date) -> None:
    """Change the tube of a unit, in the store under quarantine, in hand on the spot; a few were misread."""
    technician = world.dice.choice(plant.technicians)
    at = moment(plant.site, today, 9 * 60 + 30 + world.dice.between(0, 200))
    stored = unit.phase == "in-store"
    if stored:
        fields: dict[str, object] = {"reason": "recall", "recall": RECALL, "place": "quarantine-cage"}
        at = world.about(plant, unit, "quarantined", at, plant.keeper, "kiosk", fields) + timedelta(hours=1)
    misread = world.dice.happens(0.12)
    if misread:
        at = identify(world, plant, unit, at, technician)
    else:
        at = fit(world, plant, unit, TUBE, at, technician, "recall")
    result = "not-affected" if misread else "fixed"
    at = world.about(plant, unit, "recall-actioned", at, technician, "bench", {"recall": RECALL, "result": result})
    wearer = holder_of(plant, unit)
    if stored:
        at = check(world, plant, unit, at, technician, wearer=None)
        world.about(plant, unit, "released", at + timedelta(minutes=9), plant.lead, "lead")
    elif wearer is not None:
        check(world, plant, unit, at, wearer.ref, wearer=wearer.ref)


def identify(world: World, plant: Plant, unit: Unit, at: datetime, by: str) -> datetime:
    """Read the number on the tube again: it is of another lot."""
    unit.parts[TUBE] = Fitted(TUBE_ITEM, "T0411H", None, unit.parts[TUBE].since)
    fields = {"position": TUBE, "part": part(unit.parts[TUBE])}
    return world.about(plant, unit, "part-identified", at, by, "bench", fields)
