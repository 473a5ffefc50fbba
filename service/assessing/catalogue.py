"""The catalogue: what the firm has defined, by the numbers that codes carry."""

from collections.abc import Mapping
from typing import Final

import msgspec

from service.assessing.moment import Question
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.label import normal

GTIN: Final = 14
"""Digits of a GTIN as codes carry it; shorter ones have zeros before them (GS1 General Specifications, 3.3.2)."""
LEAST_GTIN: Final = 8


def items_of(question: Question) -> dict[str, ItemDefined]:
    """Give the items by reference, as they are defined at the moment."""
    timelines = question.world.rulebook.items.timelines.values()
    items = (timeline.holding(question.as_at).event for timeline in timelines)
    return {item.item: item for item in sorted(items, key=lambda item: item.item)}


class Catalogue(msgspec.Struct, frozen=True):
    """Items by reference as they are defined at the moment, and every model that a unit may be of."""

    items: Mapping[str, ItemDefined]
    models: frozenset[str]

    @classmethod
    def of(cls, question: Question) -> "Catalogue":
        """Read it from what is known; a model that was taken back may still have units."""
        models = {row.event.model for row in question.known.rows if isinstance(row.event, ModelDefined)}
        return cls(items_of(question), frozenset(models))

    @property
    def with_any_gtin(self) -> frozenset[str]:
        """Name the items whose GTIN is known."""
        return frozenset(ref for ref, one in self.items.items() if one.gtin is not None)

    @property
    def with_any_part_number(self) -> frozenset[str]:
        """Name the items whose part number is known."""
        return frozenset(ref for ref, one in self.items.items() if one.part_number is not None)

    def with_gtin(self, gtin: str) -> list[ItemDefined]:
        """Give the items with a GTIN."""
        return [one for one in self.items.values() if one.gtin is not None and one.gtin.zfill(GTIN) == gtin.zfill(GTIN)]

    def with_part_number(self, number: str) -> list[ItemDefined]:
        """Give the items with a part number, whichever case its letters have."""
        wanted = normal(number)
        return [one for one in self.items.values() if one.part_number is not None and normal(one.part_number) == wanted]

    def called(self, text: str) -> list[ItemDefined]:
        """Give the items that a text may name: by reference, part number or GTIN."""
        found = [self.items[text]] if text in self.items else []
        numbered = self.with_gtin(text) if LEAST_GTIN <= len(text) <= GTIN else []
        return [*found, *(one for one in (*self.with_part_number(text), *numbered) if one not in found)]
