"""Folding a kin from its beginning, so that nobody else stands still for a long one."""

import asyncio
from typing import Final

from service.domain.world import World
from service.recording.draft import Draft

LONG: Final = 1000
"""Events that take a good part of a second to fold."""


async def fold_whole(draft: Draft, world: World) -> None:
    """Fold a kin from its beginning; a long one beside the loop, so that whoever else is ready goes on meanwhile."""
    if len(draft.old or ()) < LONG:
        draft.fold_anew(world)
    else:
        await asyncio.to_thread(draft.fold_anew, world)
