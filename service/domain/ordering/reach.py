"""Reach: an act counts where its key reaches the site of the need that it is about.

An event names a site of its own, or none, and so says nothing of whose order it speaks of: a key bound to one site
would act on another's. What it posts for a proposal that it does not reach is, to it, for one that nobody knows.
"""

from collections.abc import Mapping

from msgspec.structs import replace

from service.domain.kinds.order_placed import OrderPlaced
from service.domain.ordering.acts import Acts, E, Said
from service.domain.ordering.naming import Need
from service.domain.world import World


def reaches(said: Said[E], site: str | None, world: World) -> bool:
    """Say whether the key of an event reaches a site; where none is known, everybody does."""
    holder = world.key(said.row.key)
    return site is None or (holder is not None and holder.reaches(site))


def within_reach(acts: Acts, needs: Mapping[str, Need], world: World) -> Acts:
    """Give the acts without the placements that do not count, which stand aside as `beyond`."""

    def ours(said: Said[OrderPlaced]) -> bool:
        need = needs.get(said.event.proposal)
        return need is None or reaches(said, need.site, world)

    kept = {name: [said for said in told if ours(said)] for name, told in acts.placements.items()}
    beyond = tuple(said for said in acts.placed if not ours(said))
    return replace(acts, placements={name: told for name, told in kept.items() if told}, beyond=beyond)
