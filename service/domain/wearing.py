"""Wearing: uses of a unit, the cover of its checks, and the breaches of use outside cover.

A complete passing check covers the unit as it stands, for the wearer it was done for, for a time. By default every
working day in issue is a use.
"""

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.fitting import use_parts
from service.domain.standing import FOREVER
from service.domain.unit import Breach, Evidence, Unit, Wearing

if TYPE_CHECKING:
    from service.domain.scene import Scene

KEPT = 5
"""So many counted uses are remembered beside the newest: more shifts than ever run at once."""


class Use(msgspec.Struct, frozen=True):
    """One counted use, the site it counts for, and whether a check covered it; `wearing` where it was a wearing."""

    at: datetime
    site: str
    covered: bool
    wearing: UUID | None = None


def covered(unit: Unit, person: str | None, at: datetime) -> bool:
    """Say whether a check covers a use by this person (None: by somebody not known) at the moment."""
    cover = unit.cover
    if cover is None or cover.paused or not cover.since <= at < cover.until:
        return False
    return person is None or person == cover.wearer


def put_on(unit: Unit, wearing: Wearing, *, between_wearers: bool) -> Unit:
    """Note who has the unit on: another wearer ends the cover, and must find it cleaned."""
    other = unit.cover is not None and unit.cover.wearer != wearing.person
    owed = unit.cleaning_owed
    if owed is None and unit.soiled_by not in {None, wearing.person} and between_wearers:
        owed = Evidence(wearing.at, wearing.event)
    return replace(
        unit,
        cover=None if other else unit.cover,
        last_wearer=wearing,
        soiled_by=wearing.person,
        cleaning_owed=owed,
    )


def breach(unit: Unit, new: Breach) -> Unit:
    """Open a breach, unless one of its kind is open for that person."""
    known = any(
        (old.person, old.reason) == (new.person, new.reason) and old.since <= new.since for old in unit.breaches
    )
    return unit if known else replace(unit, breaches=(*unit.breaches, new))


def clear_breaches(unit: Unit, at: datetime, wearer: str | None, *, everybody: bool = False) -> Unit:
    """Close what a complete passing check closes: breaches begun, of that wearer or of nobody known."""
    left = tuple(
        old for old in unit.breaches if old.since > at or not (everybody or old.person is None or old.person == wearer)
    )
    return replace(unit, breaches=left)


def pass_time(unit: Unit, scene: "Scene") -> tuple[Unit, tuple[Use, ...]]:
    """Let [since, until) pass without an event: count its uses and open the breaches that time alone opens.

    Of an open-ended stretch only the first breach is looked for, and nothing is counted.
    """
    if unit.retired:
        return unit, ()
    unit = _wear_on(unit, scene)
    if not scene.counts_working_days:
        return unit, ()
    if scene.until == FOREVER:
        return _first_breach(unit, scene), ()
    uses = []
    for key, at in scene.further_uses(unit, scene.until):
        use = Use(at, unit.site, covered(unit, _person(unit), at))
        uses.append(use)
        unit = use_parts(replace(unit, counted=(*unit.counted[-KEPT:], key)), at, uses=1)
        unit = unit if use.covered else _uncovered(unit, at)
    return unit, tuple(uses)


def _person(unit: Unit) -> str | None:
    return None if unit.holder is None else unit.holder.person


def _uncovered(unit: Unit, at: datetime) -> Unit:
    return breach(unit, Breach(at, _person(unit), "used-without-check", None))


def _wear_on(unit: Unit, scene: "Scene") -> Unit:
    """Wear on to a known end: the parts serve, and a breach opens where the cover ends within the use."""
    worn = unit.wearing
    if worn is None or worn.until is None or worn.until <= scene.since:
        return unit
    end = min(worn.until, scene.until)
    unit = use_parts(unit, worn.at, seconds=int((end - scene.since).total_seconds()))
    ends = scene.since
    if covered(unit, worn.person, scene.since) and unit.cover is not None:
        ends = unit.cover.until
    return unit if ends >= end else breach(unit, Breach(ends, worn.person, "used-without-check", worn.event))


def _first_breach(unit: Unit, scene: "Scene") -> Unit:
    person = _person(unit)
    if any(old.reason == "used-without-check" and old.since <= scene.since for old in unit.breaches):
        return unit
    first = (at for _, at in scene.further_uses(unit, scene.until) if not covered(unit, person, at))
    at = next(first, None)
    return unit if at is None else _uncovered(unit, at)
