"""People who leave, and those who come for them."""

from datetime import date, timedelta

import msgspec

from seed.days import moment, working_on_or_before
from seed.dice import Dice
from seed.handing import take_back
from seed.plant import Plant
from seed.proofs import Renewal, renew, write
from seed.unit import Wearer
from seed.world import World

LEAVERS = 1
FIRST, LAST = 60, 100
GAP_DAYS = 9


class Turn(msgspec.Struct, frozen=True):
    """One person leaves on a day, and another comes some days later."""

    leaves: date
    comes: date


def turns(dice: Dice, plant: Plant, start: date, end: date) -> list[Turn]:
    """Draw when people of a site leave."""
    found = []
    for _ in range(LEAVERS if plant.wearers else 0):
        day = start + timedelta(days=dice.between(FIRST, (end - start).days - LAST))
        leaves = working_on_or_before(plant.site, day)
        found.append(Turn(leaves, working_on_or_before(plant.site, leaves + timedelta(days=GAP_DAYS))))
    return found


def go(world: World, plant: Plant, planned: list[Turn], today: date) -> None:
    """Let the one go and the other come, where today is the day."""
    for turn in planned:
        if turn.leaves == today:
            _go_away(world, plant, today)
        if turn.comes == today:
            _come(world, plant, today)


def _go_away(world: World, plant: Plant, today: date) -> None:
    wearer = next((one for one in plant.wearers if one.unit is not None and one.unit.phase == "issued"), None)
    if wearer is None or wearer.unit is None:
        return
    at = take_back(world, plant, wearer.unit, moment(plant.site, today, 16 * 60 + 40), wearer.ref)
    write(world, plant, "authorisation-ended", at, plant.lead, {"person": wearer.ref, "of": "wear"})
    wearer.unit.kept_for, wearer.unit, wearer.left = None, None, True


def _come(world: World, plant: Plant, today: date) -> None:
    """Take somebody on for the last one who left: trained, and fit-tested where the model is tight."""
    gone = next((one for one in reversed(plant.wearers) if one.left), None)
    if gone is None:
        return
    name = f"p-{max(int(one.ref[2:]) for one in plant.wearers) + 1}"
    fresh = Wearer(ref=name, model=gone.model, size=gone.size, away=((today, today),))
    plant.wearers.append(fresh)
    renew(world, plant, Renewal(name, "wear", today), today)
    if fresh.model.sized:
        renew(world, plant, Renewal(name, "fit", today, fresh.model.ref, fresh.size), today)
