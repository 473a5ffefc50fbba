"""Runs: new rows cut where they can't be folded in one go."""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from datetime import UTC
from typing import NamedTuple
from uuid import UUID

from service.domain.event import AssetEvent
from service.domain.facts import Key, fold_key, instant
from service.domain.placing import siteless
from service.domain.recorded import Recorded
from service.domain.world import World
from service.recording.filing import ZONES


class _Place(NamedTuple):
    """The first and the last place at which an event of a unit may count, and whether its unit alone says which."""

    first: Key
    last: Key
    moves: bool

    def follows(self, before: "_Place") -> bool:
        """Say whether it comes after another in the fold. Two days without a site are taken to be of one zone."""
        return self.last > before.last if self.moves and before.moves else self.first > before.last


def runs(rows: Sequence[Recorded], apart: AbstractSet[UUID], world: World) -> list[list[Recorded]]:
    """Cut rows, in the order they are recorded, where one does not follow the one before it in the fold.

    The events named by `apart` are each a run by themselves.
    """
    cut: list[list[Recorded]] = []
    last: _Place | None = None
    for row in rows:
        place = _place(row, row.event, world) if isinstance(row.event, AssetEvent) else None
        alone = row.event.id in apart
        if cut and last is not None and place is not None and place.follows(last) and not alone:
            cut[-1].append(row)
        else:
            cut.append([row])
        last = None if alone else place
    return cut


def _place(row: Recorded, event: AssetEvent, world: World) -> _Place:
    """Place an event, as far as it can be without its unit; bad news counts no later than it is received."""
    at = instant(event, None, world)
    received_at = row.received_at.astimezone(UTC)
    if any(siteless([row])):
        return _Place(fold_key(event, at - ZONES), fold_key(event, at + ZONES), moves=True)
    first = min(at, received_at) if event.adverse() else at
    return _Place(fold_key(event, first), fold_key(event, at), moves=False)
