"""Things that a scan may be: a unit by its tag or serial number, or units by what is fitted in them."""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

import msgspec

from service.assessing.moment import Question
from service.domain.intervals import Interval
from service.domain.kinship import serial_ref
from service.domain.label import normal, same
from service.domain.part import Part
from service.domain.unit import Unit
from service.recording.filing import part_subjects
from service.recording.loading import unit_named
from service.recording.rows import SEEN
from service.store.kins_depending_on import kins_depending_on
from service.store.units_filed_under import units_filed_under
from service.store.units_of_kins import UnitOfKin, units_of_kins

LOOKED_AT = 200
"""Units that are looked at for a part: of a lot that was in more a list should be asked for."""

Sites = frozenset[str] | None
Fits = Callable[[str], bool]
"""Says of an item whether a part of it may be the one."""


class Match(msgspec.Struct, frozen=True):
    """A unit and how it stands, by what it was found, and the part it was found by with its position."""

    unit: Unit
    now: Interval
    matched: str
    position: str | None = None
    part: Part | None = None


class Looked(NamedTuple):
    """The units that were found, and whether there are more than were looked at."""

    matches: list[Match]
    more: bool


async def by_tag(question: Question, sites: Sites, tag: str) -> list[Match]:
    """Find the unit that a tag means: the one that has it, else the last that had it."""
    row = await unit_named(question.conn, question.organisation, tag)
    return [Match(unit, now, "tag") for unit, now in _seen(question, sites, [] if row is None else [row])]


async def by_serial(question: Question, sites: Sites, models: Iterable[str], serial: str) -> list[Match]:
    """Find the units with a serial number, whichever of the models they are."""
    refs = {serial_ref(model, serial) for model in models}
    kins = await kins_depending_on(question.conn, question.organisation, refs)
    rows = await units_of_kins(question.conn, question.organisation, kins)
    seen = _seen(question, sites, rows)
    return [Match(unit, now, "serial") for unit, now in seen if normal(unit.serial) == normal(serial)]


async def by_part_serial(question: Question, sites: Sites, fits: Fits, serial: str) -> Looked:
    """Find the units that have a part with a serial number in them now."""
    return await _by_part(
        question,
        sites,
        part_subjects(None, serial),
        "part-serial",
        lambda part: fits(part.item) and _alike(part.serial, serial),
    )


async def by_lot(question: Question, sites: Sites, fits: Fits, lot: str, serial: str | None) -> Looked:
    """Find the units that have a part of a lot in them now; one with another serial number is another part."""
    return await _by_part(
        question,
        sites,
        part_subjects(lot, None),
        "part-lot",
        lambda part: fits(part.item) and _alike(part.lot, lot) and None in {serial, part.serial},
    )


async def _by_part(
    question: Question, sites: Sites, subjects: Iterable[str], matched: str, is_it: Callable[[Part], bool]
) -> Looked:
    rows = await units_filed_under(question.conn, question.organisation, subjects, sites, LOOKED_AT + 1)
    found = [
        Match(unit, now, matched, position, fitted.part)
        for unit, now in _seen(question, sites, rows[:LOOKED_AT])
        for position, fitted in sorted(unit.parts.items())
        if fitted.part is not None and is_it(fitted.part)
    ]
    return Looked(found, len(rows) > LOOKED_AT)


def _alike(one: str | None, other: str | None) -> bool:
    """Compare what is printed on parts; what is not known is like nothing."""
    return one is not None and other is not None and same(one, other)


def _seen(question: Question, sites: Sites, rows: Iterable[UnitOfKin]) -> Iterator[tuple[Unit, Interval]]:
    """Give the units at the sites, each as it stands at the moment."""
    for row in rows:
        outlook = SEEN.decode(row.outlook)
        now = outlook.at(question.as_at) or outlook.intervals[0]
        if sites is None or now.site in sites:
            yield outlook.folded.unit, now
