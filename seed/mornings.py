"""A working day of those who have a unit of their own: fetch it, care for it, check it, wear it, hand it in."""

from datetime import date, datetime, timedelta

from seed.care import care
from seed.checking import check, restoring_check
from seed.days import is_working, moment, working_after
from seed.handing import find_spare, issue, take_back
from seed.mishaps import fail_in_use, from_a_desk, recheck, withdraw
from seed.parts import fit
from seed.plant import Plant
from seed.sites import Shift
from seed.unit import Unit, Wearer
from seed.world import World

MISSED = 0.011
LATE = 0.013
RECHECK = 0.006
WITHDRAW = 0.0011
IN_USE = 0.0006
DESK = 0.0003
SWAP = 0.006
FORGETS = 0.05


def go(world: World, plant: Plant, today: date) -> None:
    """Take every wearer of a site through a working day."""
    if not is_working(plant.site, today):
        return
    shift = plant.site.shifts[0]
    for wearer in plant.wearers:
        if wearer.away_on(today):
            continue
        if wearer.unit is None:
            _fetch(world, plant, wearer, shift, today)
        elif wearer.unit.phase == "issued":
            _wear(world, plant, wearer.unit, wearer, moment(plant.site, today, shift.starts))
        _leave(world, plant, wearer, shift, today)


def _fetch(world: World, plant: Plant, wearer: Wearer, shift: Shift, today: date) -> None:
    unit = find_spare(plant, wearer)
    if unit is not None:
        at = moment(plant.site, today, shift.starts - world.dice.between(16, 28))
        issue(world, plant, unit, wearer, care(world, plant, unit, wearer, at, put_off=0))


def _wear(world: World, plant: Plant, unit: Unit, wearer: Wearer, starts: datetime) -> None:
    """Care for the unit and check it before the shift; seldom, something goes wrong."""
    dice = world.dice
    quiet = unit.fate is not None
    if not quiet and dice.happens(MISSED):
        unit.missed = starts.date()
        return
    late = not quiet and dice.happens(LATE)
    at = starts + timedelta(minutes=dice.between(3, 50) if late else -dice.between(4, 24))
    at = care(world, plant, unit, wearer, at)
    fate = dice.random() if not quiet else 1.0
    if fate < RECHECK:
        recheck(world, plant, unit, wearer, at)
    elif fate < RECHECK + WITHDRAW:
        withdraw(world, plant, unit, wearer, at)
    else:
        check(world, plant, unit, at, wearer.ref, wearer=wearer.ref)
        _during(world, plant, unit, wearer, starts)


def _during(world: World, plant: Plant, unit: Unit, wearer: Wearer, starts: datetime) -> None:
    """Let something happen within the shift, seldom."""
    work(unit)
    if unit.fate is not None:
        return
    fate = world.dice.random()
    at = starts + timedelta(minutes=world.dice.between(60, 390))
    if fate < IN_USE:
        fail_in_use(world, plant, unit, wearer, at)
    elif fate < IN_USE + DESK:
        from_a_desk(world, plant, unit, starts.date())
    elif fate < IN_USE + DESK + SWAP and unit.model.powered:
        at = fit(world, plant, unit, "battery", at, wearer.ref, "other")
        restoring_check(world, plant, unit, at + timedelta(minutes=2), wearer.ref)


def work(unit: Unit) -> None:
    """Let a day of work show: dust in the filter, age in the battery."""
    unit.loading = min(5.0, unit.loading + unit.dust)
    unit.capacity -= 0.03
    for fitted in unit.parts.values():
        fitted.worked += 1


def _leave(world: World, plant: Plant, wearer: Wearer, shift: Shift, today: date) -> None:
    """Hand the unit in before days away; some forget to."""
    unit = wearer.unit
    if unit is None or unit.phase != "issued" or not wearer.away_on(working_after(plant.site, today)):
        return
    if world.dice.happens(FORGETS) and unit.fate is None:
        return
    take_back(
        world,
        plant,
        unit,
        moment(plant.site, today, shift.starts + shift.lasts + world.dice.between(1, 20)),
        wearer.ref,
    )
    wearer.unit = None
