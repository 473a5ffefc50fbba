"""The last weeks of the units whose end is meant: what happens to each, and how many days before the end."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

import msgspec

from seed.checking import check, failing_check
from seed.days import moment, working_on_or_before
from seed.examining import examine
from seed.handing import holder_of, leave_hand
from seed.instruments import meter
from seed.loans import NEIGHBOURS
from seed.losses import lose
from seed.mishaps import CAGE, withdrawing
from seed.parts import swap
from seed.plant import Plant
from seed.unit import Fitted, Unit
from seed.world import MANAGER, World

Act = Callable[[World, Plant, Unit, datetime], object]


class Ending(msgspec.Struct, frozen=True):
    """What happens to units of one fate, on the last working day that is so many days before the end."""

    days: int
    act: Act


def go(world: World, plant: Plant, today: date) -> None:
    """Let the marked units of a site meet their end when its day has come."""
    for unit in [unit for unit in plant.units if unit.fate in ENDINGS]:
        ending = ENDINGS[str(unit.fate)]
        if today == working_on_or_before(plant.site, world.before_end(ending.days)):
            ending.act(world, plant, unit, moment(plant.site, today, 14 * 60 + world.dice.between(0, 55)))


def _with_lapsed_meter(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    examine(world, plant, unit, at, instrument=meter(plant.site, 2))


def _without_competence(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    examine(world, plant, unit, at, by=plant.examiners[1])


def _weak_battery(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    unit.capacity, unit.neglected = 58.0, True
    examine(world, plant, unit, at)


def _old_filter(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    wearer = holder_of(plant, unit)
    by = wearer.ref if wearer else plant.keeper
    old = Fitted("ar-p3", "R0041Z", world.before_end(6).isoformat(), at.date())
    at = swap(world, plant, unit, "particle-filter", at, by, "loading", old)
    check(world, plant, unit, at + timedelta(minutes=4), by, wearer=by)
    unit.neglected = True


def _full_filter(_world: World, _plant: Plant, unit: Unit, _at: datetime) -> None:
    unit.loading, unit.neglected = 4.2, True


def _strange_tube(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    by = plant.technicians[0]
    strange = Fitted("ar-tube-old", "X0301A", None, at.date())
    swap(world, plant, unit, "breathing-tube", at, by, "damage", strange)


def _borrow(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    """Let somebody else wear the unit without cleaning it before or after."""
    borrower = plant.crew[0]
    at = check(world, plant, unit, at, borrower, wearer=borrower)
    until = at + timedelta(minutes=40)
    world.about(plant, unit, "worn", at, borrower, "kiosk", {"wearer": borrower, "until": until.isoformat()})


def _fail_in_hand(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    wearer = holder_of(plant, unit)
    failing_check(world, plant, unit, at, wearer.ref if wearer else plant.keeper, withdrawing(unit)[0])
    unit.phase = "held-in-hand"


def _order_from_desk(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    world.about(plant, unit, "quarantined", at, MANAGER, "lead", {"reason": "suspect"})
    unit.phase = "held-in-hand"


def _forget(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    wearer = holder_of(plant, unit)
    if wearer is not None:
        wearer.away = ((at.date() + timedelta(days=1), world.end + timedelta(days=20)),)


def _lose(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    lose(world, plant, unit, at.date())


def _send_away(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    target = NEIGHBOURS.get(plant.site.ref, "harrow-dock")
    world.about(plant, unit, "moved", at, plant.keeper, "kiosk", {"to_site": target})
    unit.phase = "in-transit"


def _send_to_service(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    world.about(plant, unit, "sent-to-service", at, plant.technicians[0], "bench", {"provider": "workshop-north"})
    unit.phase = "at-service"


def _put_away(world: World, plant: Plant, unit: Unit, at: datetime) -> None:
    _fail_in_hand(world, plant, unit, at)
    leave_hand(plant, unit)
    world.about(plant, unit, "quarantined", unit.last, plant.keeper, "kiosk", {"reason": "failed", "place": CAGE})
    unit.phase = "quarantined"


ENDINGS: dict[str, Ending] = {
    "examined-with-lapsed-meter": Ending(17, _with_lapsed_meter),
    "examined-without-competence": Ending(17, _without_competence),
    "worn-out-battery": Ending(10, _weak_battery),
    "expired-filter": Ending(25, _old_filter),
    "loaded": Ending(8, _full_filter),
    "unlisted-part": Ending(14, _strange_tube),
    "not-cleaned": Ending(2, _borrow),
    "failed-in-hand": Ending(1, _fail_in_hand),
    "ordered-from-a-desk": Ending(4, _order_from_desk),
    "forgotten-on-leave": Ending(4, _forget),
    "missing": Ending(9, _lose),
    "in-transit": Ending(15, _send_away),
    "at-service": Ending(12, _send_to_service),
    "put-away": Ending(35, _put_away),
}
