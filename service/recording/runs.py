"""Runs: new rows cut where they can't be folded in one go."""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from uuid import UUID

from service.domain.event import AssetEvent
from service.domain.facts import fold_key, instant
from service.domain.recorded import Recorded
from service.domain.world import World


def runs(rows: Sequence[Recorded], apart: AbstractSet[UUID], world: World) -> list[list[Recorded]]:
    """Cut rows, in the order they are recorded, where one does not follow the one before it in the fold.

    The events named by `apart` are each a run by themselves.
    """
    cut: list[list[Recorded]] = []
    last = None
    for row in rows:
        event = row.event
        key = fold_key(event, instant(event, None, world)) if isinstance(event, AssetEvent) else None
        alone = event.id in apart
        if cut and last is not None and key is not None and key > last and not alone:
            cut[-1].append(row)
        else:
            cut.append([row])
        last = None if alone else key
    return cut
