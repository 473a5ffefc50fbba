"""Fitting: what sits in each position, and what a swap does to the unit.

A battery swap pauses the cover of the last check until airflow, alarm and battery are proved; any other change ends it.
"""

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from msgspec.structs import replace

from service.domain.calendar import day_start
from service.domain.unit import Charge, Evidence, Fitted, Unit

if TYPE_CHECKING:
    from service.domain.part import Part
    from service.domain.words import FilterLoading
    from service.domain.world import World


def role_of(unit: Unit, position: str, at: datetime, world: "World") -> str | None:
    """Give the role the model gives a position; None for a position it does not have."""
    model = world.model(unit.model, at)
    if model is None:
        return None
    return next((known.role for known in model.positions if known.position == position), None)


def fit(unit: Unit, position: str, part: "Part | None", at: datetime, event: UUID, world: "World") -> Unit:
    """Put a part into a position, or empty it (None)."""
    role = role_of(unit, position, at, world)
    fitted = Fitted(part, at, event, opened_at=_opened(unit, part, at, world))
    changed = replace(unit, parts={**unit.parts, position: fitted})
    if role == "battery":
        paused = None if unit.cover is None else replace(unit.cover, paused=True)
        return replace(changed, charge=Charge(None, at, event), capacity=None, cover=paused)
    return replace(changed, cover=None)


def identify(unit: Unit, position: str, part: "Part", at: datetime, event: UUID, world: "World") -> Unit:
    """Say what sits in a position already; its age and use go on."""
    known = unit.parts.get(position)
    opened = _opened(unit, part, at, world)
    if known is None or known.part is None:
        return replace(unit, parts={**unit.parts, position: Fitted(part, at, event, opened_at=opened)})
    now = replace(known, part=part, opened_at=opened if part.opened_on is not None else known.opened_at or opened)
    return replace(unit, parts={**unit.parts, position: now})


def use_parts(unit: Unit, at: datetime, *, uses: int = 0, seconds: int = 0) -> Unit:
    """Let every fitted part serve in a use; the first one opens a sealed filter."""
    parts = {
        position: replace(
            fitted,
            opened_at=fitted.opened_at or at,
            uses=fitted.uses + uses,
            worn_seconds=fitted.worn_seconds + seconds,
        )
        for position, fitted in unit.parts.items()
    }
    return replace(unit, parts=parts)


def read_loading(unit: Unit, loading: "FilterLoading | None", evidence: Evidence, world: "World") -> Unit:
    """Note a loading reading: of the particle filters, or by position."""
    if loading is None:
        return unit
    if isinstance(loading, int):
        levels = dict.fromkeys(_positions(unit, "particle", evidence.at, world), loading)
    else:
        levels = loading
    parts = {
        position: replace(
            unit.parts.get(position) or Fitted(None, evidence.at, evidence.event), loading=level, loaded=evidence
        )
        for position, level in levels.items()
    }
    return replace(unit, parts={**unit.parts, **parts})


def read_battery(
    unit: Unit, percent: float | None, capacity: float | None, evidence: Evidence, *, told: bool = False
) -> Unit:
    """Note readings of charge and capacity, in percent; `told` says that a battery point tells of the charge."""
    charge = unit.charge
    if percent is not None:
        charge = Charge(percent, evidence.at, evidence.event)
    elif told and charge is not None and charge.percent is None:
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


def _opened(unit: Unit, part: "Part | None", at: datetime, world: "World") -> datetime | None:
    """Say when the seal was broken: as stated, at fitting for a part that was fitted before, else not yet."""
    if part is None:
        return None
    if part.opened_on is not None:
        return day_start(part.opened_on, world.zone(unit.site, at))
    return at if part.condition == "refitted" else None
