"""The world of the scenario: its days, its chance, its book and its sites."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

import msgspec

from seed.book import Book
from seed.dice import Dice
from seed.plant import Plant
from seed.unit import Unit

MANAGER = "p-1001"
DEPUTY = "p-1002"
RECORDS = "p-1003"
BUYER = "p-1004"


class World(msgspec.Struct, eq=False, kw_only=True):
    """Everything the scenario changes while it goes through the year from `start` to `end`, both days included."""

    start: date
    end: date
    dice: Dice
    book: Book
    plants: dict[str, Plant] = {}
    tags: int = 0
    orders: int = 0
    needs: dict[tuple[str, str], int] = {}

    @property
    def middle(self) -> date:
        """Give the day in the middle of the year."""
        return self.start + (self.end - self.start) // 2

    def before_end(self, days: int) -> date:
        """Give the day so many days before the end."""
        return self.end - timedelta(days=days)

    def about(  # who did what to which unit, where, when and with what
        self,
        plant: Plant,
        unit: Unit,
        kind: str,
        at: datetime,
        by: str,
        device: str,
        fields: Mapping[str, object] | None = None,
    ) -> datetime:
        """Write a message about a unit, after the last one about it, and give its moment."""
        at = max(at, unit.last + timedelta(seconds=self.dice.between(35, 80)))
        unit.last = at
        self.book.write(
            kind, at, by, plant.site.ref, device_of(plant, unit, device), {"asset": unit.tag, **(fields or {})}
        )
        return at

    def note(self, plant: Plant, kind: str, at: datetime, by: str, fields: Mapping[str, object]) -> None:
        """Write a message of a site that is about no unit, from the desk of its lead or its store."""
        device = "store" if kind.startswith("stock-") else "lead"
        self.book.write(kind, at, by, plant.site.ref, f"{plant.site.code}-{device}", fields)


def device_of(plant: Plant, unit: Unit, device: str) -> str:
    """Name the device: each unit is always seen at the same one of the two kiosks."""
    if device == "kiosk":
        device = f"kiosk-{1 + int(unit.tag[-1]) % 2}"
    return f"{plant.site.code}-{device}"
