"""What a kin's fold derives, as rows of the tables that keep it."""

from collections.abc import Iterator
from math import inf
from typing import Any
from uuid import UUID

from msgspec.structs import asdict

from service.store.kin_write import KinWrite, UnitRow

Rows = Iterator[tuple[str, dict[str, Any]]]
"""By table, the columns of a row."""
OF_UNITS = ("standing_interval", "use_made", "finding", "stay")
OF_KINS = ("kin", "kinship", "fold_mark", "dependency", "unit", *OF_UNITS)
"""The tables they go into, those last whose rows name a unit and no kin."""


def rows_of(organisation: UUID, kin: KinWrite, version: object) -> Rows:
    """Give every row of a kin that is written anew, and with it what else is said of it."""
    whose = {"organisation": organisation, "kin": kin.kin}
    yield "kin", {**whose, "version": version, "snapshot": kin.snapshot}
    for tag in kin.tags:
        yield "kinship", {**whose, "tag": tag}
    for mark in kin.marks:
        yield "fold_mark", {**whose, **asdict(mark)}
    for ref in kin.dependencies or ():
        yield "dependency", {**whose, "ref": ref}
    for unit in kin.units:
        yield from _of_unit(whose, unit)


def _of_unit(whose: dict[str, Any], unit: UnitRow) -> Rows:
    until = inf if unit.next_until is None else unit.next_until
    yield "unit", {**whose, **asdict(unit), "next_until": until}
    own = {"organisation": whose["organisation"], "unit": unit.unit}
    for interval in unit.intervals:
        row = asdict(interval)
        yield "standing_interval", {**own, **row, "until": inf if interval.until is None else interval.until}
    for use in unit.uses:
        yield "use_made", {**own, **asdict(use)}
    for finding in unit.findings:
        yield "finding", {**own, **asdict(finding)}
    for stay in unit.stays:
        row = asdict(stay)
        yield "stay", {**own, **row, "until": inf if stay.until is None else stay.until}
