"""Wearing: uses of a unit, the cover of its checks, and the breaches of use outside cover.

A complete passing check covers the unit as it stands, for the wearer it was done for, for a time. By default every
working day in issue is a use.
"""

from datetime import date, datetime, timedelta
from functools import lru_cache
from hashlib import sha256
from typing import TYPE_CHECKING, Final, Literal
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.fitting import use_parts
from service.domain.standing import FOREVER
from service.domain.unit import Breach, Counted, Cover, Evidence, Unit, Wearing, phase

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from service.domain.duties import PreUseDuty
    from service.domain.scene import Scene

CALENDAR_USES = frozenset({"routine", "occasional"})
KEPT = timedelta(days=2)
"""How long a counted shift is remembered after its end, lest a new calendar that lengthens it counts it again."""
MICROSECOND = timedelta(microseconds=1)
VERSION_BITS: Final = 0xF << 76 | 0x3 << 62
VERSION_8: Final = 0x8 << 76 | 0x2 << 62


KnownBy = Literal["worn", "checked", "failed-check", "failed-in-use"]
"""The kinds of events that tell who wore a unit: a check is made by its wearer, a failure noticed by them."""


class Use(msgspec.Struct, gc=False, frozen=True, omit_defaults=True):
    """One use and the site it belongs to: by the calendar, or `worn`, which may stand beside those and not be counted.

    A wearing `known_by` a check or a failure, or `aside`, tells who wore the unit and nothing else: no check need cover
    it. Of one that states its day alone `day` is the other end of that: good news counts at the end, bad news at the
    beginning.

    `ref` names it for good: the event of a wearing; else its unit, site, day and shift. `lapse` is the first moment at
    which no check covers it: its beginning, or one within it; None for never. `until` is the end of a wearing where
    that was said. `forbidden` are the reasons why the unit was not to be used as it began, but for the want of a check.
    """

    at: datetime
    site: str
    lapse: datetime | None
    ref: UUID
    person: str | None = None
    until: datetime | None = None
    worn: bool = False
    counted: bool = True
    forbidden: tuple[str, ...] = ()
    known_by: KnownBy = "worn"
    aside: bool = False
    day: datetime | None = None

    def covered_before(self, moment: datetime) -> bool:
        """Say whether a check covered it for as long as it lasted before a moment."""
        return self.lapse is None or self.lapse >= moment


def counts_working_days(unit: Unit, duty: "PreUseDuty") -> bool:
    """Say whether each working day is a use of the unit: in issue, for routine or occasional use (R18)."""
    in_rates = unit.fitted_to is None and unit.use in CALENDAR_USES
    return in_rates and duty.count == "working-days" and phase(unit) == "issued"


def covering(unit: Unit, person: str | None, at: datetime) -> Cover | None:
    """Give what covers a use by this person (None: by somebody not known) at the moment."""
    cover = unit.cover
    if cover is None or cover.paused or at >= cover.until or person not in {None, cover.wearer}:
        return None
    return cover


def covered(unit: Unit, person: str | None, at: datetime) -> bool:
    """Say whether a check covers a use by this person at the moment."""
    return covering(unit, person, at) is not None


def longer(old: Cover | None, new: Cover, *, restored: bool) -> Cover:
    """Give the cover that ends later: what an earlier check granted the same wearer is not taken back by a newer one.

    A swap pauses the earlier one, unless the new check shows what `restored` it.
    """
    if old is None or old.wearer != new.wearer or (old.paused and not restored) or old.until <= new.until:
        return new
    return replace(old, paused=False)


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


def close_uses(unit: Unit, wearer: str | None) -> Unit:
    """Close what a check that covers this wearer closes: the uses outside cover by the wearer, or by nobody known.

    A check that names no wearer covers nobody (R48).
    """
    if wearer is None:
        return unit
    mine = {None, wearer}
    left = tuple(old for old in unit.breaches if old.reason != "used-without-check" or old.person not in mine)
    return replace(unit, breaches=left)


def close_function_check(unit: Unit) -> Unit:
    """Note that the function check that was owed has been done."""
    return replace(unit, breaches=tuple(old for old in unit.breaches if old.reason != "function-check-owed"))


def pass_time(unit: Unit, scene: "Scene") -> "tuple[Unit, Iterator[Use]]":
    """Let [since, until) pass without an event: count its uses and open the breaches that time alone opens.

    Of an open-ended stretch only the first breach is looked for, and nothing is counted.
    """
    if unit.retired:
        return unit, iter(())
    unit = wear_on(unit, scene)
    if not scene.counts_working_days:
        return unit, iter(())
    if scene.until == FOREVER:
        return _first_breach(unit, scene), iter(())
    made = list(scene.further_uses(unit, scene.until))
    safe = safe_until(unit, scene.since)
    return _served(unit, scene, made, safe), _uses(unit, made, safe)


def safe_until(unit: Unit, since: datetime) -> datetime:
    """Give the moment from which on uses have no cover, from a moment on: that itself where none has."""
    cover = covering(unit, person_of(unit), since)
    return since if cover is None else cover.until


def _uses(unit: Unit, made: "Sequence[tuple[Counted, datetime]]", safe: datetime) -> "Iterator[Use]":
    person = person_of(unit)
    for counted, at in made:
        yield Use(at, unit.site, None if at < safe else at, named(unit, counted), person)


def _served(unit: Unit, scene: "Scene", made: "Sequence[tuple[Counted, datetime]]", safe: datetime) -> Unit:
    """Give the unit after the uses of a stretch without an event, of which those from `safe` on had no cover.

    The first of them opens what is sealed, the first without cover the breach; the others change nothing more.
    """
    if not made:
        return unit
    first, last = made[0][1], made[-1][1]
    counted = (*unit.counted, *(one for one, _ in made))
    kept = tuple(one for one in counted[:-1] if one.until + KEPT > last)
    unit = use_parts(replace(unit, counted=(*kept, counted[-1])), first, scene.day(first), uses=len(made))
    lapse = next((at for _, at in made if at >= safe), None)
    return unit if lapse is None else _uncovered(unit, lapse)


def named(unit: Unit, counted: Counted) -> UUID:
    """Name a use that the calendar counts, wherever within its shift it begins: a UUID of version 8 (RFC 9562)."""
    return UUID(int=(unit.unit.int ^ _of_shift(counted.site, counted.day, counted.shift)) & ~VERSION_BITS | VERSION_8)


@lru_cache(maxsize=32768)
def _of_shift(site: str, day: date, shift: str) -> int:
    """Give 128 bits that stand for a site's shift: hashed once for all its units."""
    return int.from_bytes(sha256(f"{site}/{day}/{shift}".encode()).digest()[:16])


def person_of(unit: Unit) -> str | None:
    """Name the person who holds the unit; None for a crew, a vehicle, a place or nobody."""
    return None if unit.holder is None else unit.holder.person


def _uncovered(unit: Unit, at: datetime) -> Unit:
    return breach(unit, Breach(at, person_of(unit), "used-without-check", None))


def wear_on(unit: Unit, scene: "Scene") -> Unit:
    """Wear on to the known ends: the parts serve, and a breach opens where the cover ends within the use."""
    if not unit.wearings:
        return unit
    left = []
    for worn in unit.wearings:
        if worn.until is None or worn.until <= scene.since:
            continue
        end = min(worn.until, scene.until)
        unit = use_parts(unit, scene.since, scene.day(scene.since), worn=(end - scene.since) // MICROSECOND)
        lapse = _lapse(unit, worn, scene.since)
        if lapse is not None and lapse < end:
            unit = breach(unit, Breach(lapse, worn.person, "used-without-check", worn.event))
            left.append(replace(worn, covered=False, lapse=worn.lapse or lapse))
        else:
            left.append(replace(worn, covered=lapse is not None))
    return replace(unit, wearings=tuple(left))


def _lapse(unit: Unit, worn: Wearing, at: datetime) -> datetime | None:
    """Give the instant at which a wearing that goes on comes to lack cover; None where it lacks it already."""
    cover = covering(unit, worn.person, at)
    if cover is not None:
        return cover.until
    return at if worn.covered else None


def _first_breach(unit: Unit, scene: "Scene") -> Unit:
    person = person_of(unit)
    if any(old.reason == "used-without-check" and old.since <= scene.since for old in unit.breaches):
        return unit
    first = (at for _, at in scene.further_uses(unit, scene.until) if not covered(unit, person, at))
    at = next(first, None)
    return unit if at is None else _uncovered(unit, at)
