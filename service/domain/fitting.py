"""Fitting: what sits in each position, and what a swap does to the unit.

A battery swap pauses the cover of the last check until airflow, alarm and battery are proved; any other change ends it.
"""

from collections.abc import Iterator
from datetime import date, datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from service.domain.facts import day_of
from service.domain.part import names, turned_out
from service.domain.unit import Charge, Evidence, Fitted, Loading, Opening, Unit

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.part import Part, RemovedPart
    from service.domain.words import FilterLoading
    from service.domain.world import World


def fit(
    unit: Unit, position: str, part: "Part | None", fact: "Fact", world: "World", *, out: "RemovedPart | None" = None
) -> Unit:
    """Put a part into a position, or empty it (None); `out` is what was said of the one that was taken out."""
    changed = _with_part(unit, position, part, fact, world, _took_out(unit, position, out))
    if position not in _positions(unit, "battery", fact.as_of, world):
        return replace(changed, cover=None)
    paused = None if unit.cover is None else replace(unit.cover, paused=True)
    return replace(changed, charge=Charge(None, fact.at, fact.event.id), capacity=None, cover=paused)


def identify(unit: Unit, position: str, part: "Part", fact: "Fact", world: "World") -> Unit:
    """Say what sits in a position already; its age and use go on."""
    known = unit.parts.get(position)
    if known is None or known.part is None:
        there = _with_part(unit, position, part, fact, world)
        return there if known is not None else _was_there(there, position)
    named_at = known.named_at if names(part) == names(known.part) else fact.at
    return replace(unit, parts={**unit.parts, position: replace(known, part=part, named_at=named_at)})


def as_stated(unit: Unit) -> Unit:
    """Give a unit before its registration with what that will state: it was there before anything was said of it."""
    there = {
        one.position: Fitted(one.part, unit.registered_at, unit.registered_at.date(), unit.unit, was_there=True)
        for one in unit.stated
    }
    return replace(unit, parts={**there, **unit.parts}) if there else unit


def renamed(was: Unit, unit: Unit, fact: "Fact", world: "World") -> Iterator[Unit]:
    """Give a unit as it was before a fact, with each part by the name under which that takes it out."""
    for position, fitted in unit.parts.items():
        if fitted.took_out is not None and fitted is not was.parts.get(position) and fitted.event == fact.event.id:
            yield identify(was, position, fitted.took_out, fact, world)


def _was_there(unit: Unit, position: str) -> Unit:
    """Note that a part sat there before anything was said of the position."""
    return replace(unit, parts={**unit.parts, position: replace(unit.parts[position], was_there=True, day=None)})


def _took_out(unit: Unit, position: str, out: "RemovedPart | None") -> "Part | None":
    """Give what was taken out, as far as that was said; of a position that was empty nothing was."""
    known = unit.parts.get(position)
    if out is None or (known is not None and known.part is None):
        return None
    return turned_out(None if known is None else known.part, out)


def _with_part(
    unit: Unit, position: str, part: "Part | None", fact: "Fact", world: "World", took_out: "Part | None" = None
) -> Unit:
    known = unit.parts.get(position)
    fitted = Fitted(
        part,
        fact.at,
        world.day_of(fact, unit),
        fact.event.id,
        uses_before=unit.uses,
        worn_before=unit.worn,
        took_out=took_out,
        day=day_of(fact),
        nth=0 if known is None or known.at != fact.at else known.nth + 1,
    )
    others = {name: loading for name, loading in unit.loadings.items() if name != position}
    return replace(unit, parts={**unit.parts, position: fitted}, loadings=others)


def use_parts(unit: Unit, at: datetime, on: date, *, uses: int = 0, worn: int = 0) -> Unit:
    """Let every fitted part serve: so many uses, so many microseconds. The first use opens a sealed filter."""
    served = replace(unit, uses=unit.uses + uses, worn=unit.worn + worn)
    if all(fitted.used is not None for fitted in unit.parts.values()):
        return served
    opening = Opening(at, on)
    parts = {
        position: fitted if fitted.used is not None else replace(fitted, used=opening)
        for position, fitted in unit.parts.items()
    }
    return replace(served, parts=parts)


def read_loading(unit: Unit, loading: "FilterLoading | None", fact: "Fact", world: "World") -> Unit:
    """Note a loading reading: of the particle filters, or by position."""
    if loading is None:
        return unit
    if isinstance(loading, int):
        levels = dict.fromkeys(_positions(unit, "particle", fact.as_of, world), loading)
    else:
        levels = loading
    read = {position: Loading(level, fact.at, fact.event.id) for position, level in levels.items()}
    return replace(unit, loadings={**unit.loadings, **read})


def read_battery(
    unit: Unit, percent: float | None, capacity: float | None, evidence: Evidence, *, told: bool = False
) -> Unit:
    """Note readings of charge and capacity, in percent; `told` says that a battery point tells of the charge."""
    charge = unit.charge
    if percent is not None:
        charge = Charge(percent, evidence.at, evidence.event)
    elif told:
        charge = None
    measured = unit.capacity if capacity is None else Charge(capacity, evidence.at, evidence.event)
    return replace(unit, charge=charge, capacity=measured)


def points_of(unit: Unit, role: str, at: datetime, world: "World") -> list[str]:
    """Name the model's check points of a role."""
    model = world.model(unit.model, at)
    return [] if model is None else [known.point for known in model.points if known.role == role]


def _positions(unit: Unit, role: str, at: datetime, world: "World") -> list[str]:
    model = world.model(unit.model, at)
    return [] if model is None else [known.position for known in model.positions if known.role == role]
