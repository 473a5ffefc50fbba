"""Voiding: which events are taken back, as known.

A voiding works from the moment it is recorded, for every question asked after. A voided voiding restores. Bad news
that is voided stays in the fold and only gains one more way out; good news never happened.
"""

from collections.abc import Iterable, Mapping
from uuid import UUID

from service.domain.kinds.voided import Voided
from service.domain.recorded import Recorded


def voidings(recorded: Iterable[Recorded]) -> dict[UUID, Recorded]:
    """Give for every event taken back the voiding that does it: an event the voiding names, not itself taken back.

    A voiding names an event recorded before it, so following the names always ends. Of several the oldest is given.
    """
    naming: dict[UUID, list[Recorded]] = {}
    for row in recorded:
        if isinstance(row.event, Voided):
            naming.setdefault(row.event.event, []).append(row)
    for rows in naming.values():
        rows.sort(key=lambda row: row.event.id.bytes)
    found = {target: _taken_back_by(target, naming) for target in naming}
    return {target: row for target, row in found.items() if row is not None}


def _taken_back_by(target: UUID, naming: Mapping[UUID, list[Recorded]]) -> Recorded | None:
    return next((row for row in naming.get(target, ()) if _taken_back_by(row.event.id, naming) is None), None)


def own(voiding: Recorded, original: Recorded) -> bool:
    """Say whether somebody voids what they said themselves: by the person, or by the key unless it was an import."""
    if voiding.event.by == original.event.by:
        return True
    return voiding.key == original.key and not (voiding.imported or original.imported)
