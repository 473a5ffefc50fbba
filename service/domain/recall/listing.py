"""Listing: what may sit in a position of a unit of which nothing was ever said.

A model that is defined anew changes no unit. What any of its versions listed that was in force since the unit was
registered may have come with it, or been put in unsaid, and still sit there; the first version holds for all earlier
time (R40). Only a part that is named, or taken out, says otherwise.
"""

from collections.abc import Sequence
from typing import Protocol

import msgspec

from service.domain.kinds.model_defined import Position


class Listing(Protocol):
    """What lists items by position: a version of a model, or several together."""

    @property
    def positions(self) -> tuple[Position, ...]:
        """Give the positions."""
        ...


class Together(msgspec.Struct, frozen=True):
    """What any of several versions lists."""

    positions: tuple[Position, ...]


def together(versions: Sequence[Listing]) -> Listing:
    """Give what any of several versions of a model lists, each position as it was defined last."""
    found: dict[str, Position] = {}
    for known in (position for version in versions for position in version.positions):
        before = found.get(known.position, known)
        items = tuple(dict.fromkeys((*before.items, *known.items)))
        found[known.position] = msgspec.structs.replace(known, items=items)
    return Together(tuple(found.values()))
