"""Voiding: which events are taken back, as known.

A voiding works from the moment it is recorded, for every question asked after. A voided voiding restores. Bad news
that is voided stays in the fold and only gains one more way out; good news never happened.
"""

from collections.abc import Iterable, Mapping
from uuid import UUID

from service.domain.kinds.voided import Voided
from service.domain.recorded import Recorded


def voidings(recorded: Iterable[Recorded]) -> dict[UUID, Recorded]:
    """Give for every event taken back a voiding that does it; of several the one with the lowest id."""
    return {target: rows[0] for target, rows in every_voiding(recorded).items()}


def every_voiding(recorded: Iterable[Recorded]) -> dict[UUID, tuple[Recorded, ...]]:
    """Give for every event taken back the voidings that do it, by id: those naming it that are not taken back.

    A voiding names an event recorded before it, so following the names always ends.
    """
    naming: dict[UUID, list[Recorded]] = {}
    for row in recorded:
        if isinstance(row.event, Voided):
            naming.setdefault(row.event.event, []).append(row)
    found = {target: _in_force(target, naming) for target in naming}
    return {target: rows for target, rows in found.items() if rows}


def _in_force(target: UUID, naming: Mapping[UUID, list[Recorded]]) -> tuple[Recorded, ...]:
    rows = (row for row in naming.get(target, ()) if not _in_force(row.event.id, naming))
    return tuple(sorted(rows, key=lambda row: row.event.id.bytes))


def own(voiding: Recorded, original: Recorded) -> bool:
    """Say whether somebody voids what they said themselves: by the person, or by the key unless it was an import."""
    if voiding.event.by == original.event.by:
        return True
    return voiding.key == original.key and not (voiding.imported or original.imported)
