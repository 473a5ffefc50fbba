"""A day of a unit: checked, issued, worn, given back; and what goes wrong with it.

The world believes its own true time. What the service makes of it goes by what devices say, and is told by `truth`.
"""

from datetime import date
from typing import TYPE_CHECKING

from seed.checking import flow, readings
from seed.models import Point
from seed.unit import Unit

if TYPE_CHECKING:
    from seed.simulation.world import World

SHIFT, BENCH, GATE, DAY_END = 5 * 60 + 45, 9 * 60, 8 * 60, 14 * 60
SPREAD = 45
WITHDRAWN, RECHECKED, MENDED_AT_ONCE = 0.05, 0.06, 0.8
ON_THE_KIOSK, BROUGHT_AWAY = 0.3, 0.7
ORDERED_FROM_A_DESK, FILTER_SPENT, FAILED_LATER = 0.02, 0.08, 0.03
GIVEN_BACK, SENT_ON = 0.7, 0.08
REPAIRED, WITHOUT_GROUND, FAILS_AGAIN = 0.5, 0.1, 0.1
CAGE = "cage"


def register(world: "World", unit: Unit) -> None:
    """Enter a unit in the books, and examine it before it is used."""
    place = world.place_of(unit)
    world.tell(unit, "registered", place.keeper, place.kiosk, model=unit.model.ref, serial=unit.serial)
    examine(world, unit, passes=True)


def live(world: "World", unit: Unit, today: date) -> None:
    """Let a day pass for a unit, if it is there yet."""
    if unit.last.date() >= today:
        return
    if unit.phase == "in-transit":
        receive(world, unit, today)
    elif unit.phase == "quarantined":
        mend(world, unit, today)
    else:
        work(world, unit, today)


def work(world: "World", unit: Unit, today: date) -> None:
    """Have the unit checked and issued if it was not, worn, and mostly given back."""
    place, dice = world.place_of(unit), world.dice
    world.reach(unit, today, SHIFT + dice.between(0, SPREAD))
    wearer = unit.kept_for or dice.choice(place.wearers)
    if not fit_for_use(world, unit, wearer):
        return
    if unit.kept_for is None:
        world.tell(unit, "issued", place.keeper, place.kiosk, holder={"person": wearer})
        unit.phase, unit.kept_for = "issued", wearer
    wear(world, unit, wearer)
    if dice.happens(ORDERED_FROM_A_DESK):
        world.tell(unit, "quarantined", place.lead, place.kiosk, reason="suspect")
        give_back(world, unit, today)
        unit.phase, unit.fate = "quarantined", "suspect"
        return
    if unit.model.powered and dice.happens(FILTER_SPENT):
        change_filter(world, unit, wearer)
    if dice.happens(FAILED_LATER):
        fail(world, unit, wearer, "withdraw")
        bring_away(world, unit, wearer)
        return
    if dice.happens(GIVEN_BACK):
        give_back(world, unit, today)
        if len(world.places) > 1 and dice.happens(SENT_ON):
            send_on(world, unit)


def fit_for_use(world: "World", unit: Unit, wearer: str) -> bool:
    """Check the unit; say whether it is used today. What can be put right mostly is, and checked again."""
    throw = world.dice.random()
    if throw < WITHDRAWN:
        fail(world, unit, wearer, "withdraw")
        bring_away(world, unit, wearer)
        return False
    if throw < WITHDRAWN + RECHECKED:
        fail(world, unit, wearer, "recheck")
        if not world.dice.happens(MENDED_AT_ONCE):
            return False
    check(world, unit, wearer, None)
    return True


def check(world: "World", unit: Unit, by: str, failing: Point | None, *, wearer: bool = True) -> None:
    """Check a unit, by the wearer for themselves, or at the bench for nobody."""
    place = world.place_of(unit)
    device = place.kiosk if world.dice.happens(ON_THE_KIOSK) else place.handheld
    kind = "failed-check" if failing is not None and world.dice.happens(0.5) else "checked"
    fields = readings(world.dice, unit, failing) | ({"wearer": by} if wearer else {})
    world.tell(unit, kind, by, device, **fields)


def fail(world: "World", unit: Unit, by: str, means: str) -> None:
    """Find a point failing that asks for a recheck, or for the unit to be withdrawn."""
    points = [point for point in unit.model.points if point.on_fail == means and point.required]
    check(world, unit, by, world.dice.choice(points))


def bring_away(world: "World", unit: Unit, by: str) -> None:
    """Lock a withdrawn unit away, or just hand it in."""
    place = world.place_of(unit)
    if world.dice.happens(BROUGHT_AWAY):
        device = world.dice.choice((place.kiosk, place.handheld))
        world.tell(unit, "quarantined", by, device, reason="failed", place=CAGE)
    else:
        world.tell(unit, "returned", place.keeper, place.kiosk)
    unit.phase, unit.kept_for = "quarantined", None


def wear(world: "World", unit: Unit, wearer: str) -> None:
    """Wear the unit."""
    world.tell(unit, "worn", wearer, world.place_of(unit).handheld, wearer=wearer)


def change_filter(world: "World", unit: Unit, wearer: str) -> None:
    """Change the particle filter, check again and go on."""
    position = unit.model.position("particle-filter")
    new = {"item": position.items[0], "condition": "new"}
    fields = {"position": position.position, "in": new, "reason": "loading"}
    world.tell(unit, "filter-replaced", wearer, world.place_of(unit).handheld, **fields)
    check(world, unit, wearer, None)
    wear(world, unit, wearer)


def give_back(world: "World", unit: Unit, today: date) -> None:
    """Give the unit back at the end of the shift."""
    place = world.place_of(unit)
    world.reach(unit, today, DAY_END + world.dice.between(0, 4 * SPREAD))
    world.tell(unit, "returned", place.keeper, place.kiosk)
    unit.phase, unit.kept_for = "in-store", None


def send_on(world: "World", unit: Unit) -> None:
    """Send the unit to another site."""
    place = world.place_of(unit)
    unit.place = world.dice.choice([ref for ref in world.places if ref != unit.home])
    world.tell(unit, "moved", place.keeper, place.kiosk, to_site=unit.place)
    unit.phase = "in-transit"


def receive(world: "World", unit: Unit, today: date) -> None:
    """Receive the unit at the other site."""
    unit.home, unit.place = unit.place or unit.home, None
    place = world.place_of(unit)
    world.reach(unit, today, GATE + world.dice.between(0, SPREAD))
    world.tell(unit, "received", place.keeper, place.kiosk)
    unit.phase = "in-store"


def mend(world: "World", unit: Unit, today: date) -> None:
    """Repair and check the unit or examine it, and release it; now and then without ground at first."""
    place, dice = world.place_of(unit), world.dice
    world.reach(unit, today, BENCH + dice.between(0, 4 * SPREAD))
    if dice.happens(WITHOUT_GROUND):
        world.tell(unit, "released", place.lead, place.kiosk)
    if unit.fate is None and dice.happens(REPAIRED):
        world.tell(unit, "repaired", place.technician, place.handheld, work=["set-right"])
        check(world, unit, place.technician, None, wearer=False)
    elif dice.happens(FAILS_AGAIN):
        examine(world, unit, passes=False)
        return
    else:
        examine(world, unit, passes=True)
    world.tell(unit, "released", place.lead, place.kiosk)
    unit.phase, unit.fate = "in-store", None


def examine(world: "World", unit: Unit, *, passes: bool) -> None:
    """Examine the unit; of a powered one the flow is measured."""
    place = world.place_of(unit)
    failing = None if passes else next(point.point for point in unit.model.points if point.on_fail == "withdraw")
    points = {point.point: "fail" if point.point == failing else "pass" for point in unit.model.points}
    fields: dict[str, object] = {"points": points, "result": "pass" if passes else "fail"}
    if unit.model.powered:
        fields["airflow_lpm"] = flow(world.dice, unit.model)
    world.tell(unit, "examined", place.examiner, place.handheld, **fields)
