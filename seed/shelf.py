"""The shelf of a site: which lots of each item lie there."""

from collections import deque

import msgspec


class Lot(msgspec.Struct):
    """Some pieces of one lot."""

    item: str
    lot: str
    expires: str | None
    left: int


class Shelf:
    """Lots in the order they are used up: first come, first used."""

    def __init__(self) -> None:
        self._lots: dict[str, deque[Lot]] = {}

    def put(self, lot: Lot, *, in_front: bool = False) -> None:
        """Lay a lot down behind the others, or in front where it is used first."""
        row = self._lots.setdefault(lot.item, deque())
        if in_front:
            row.appendleft(lot)
        else:
            row.append(lot)

    def take(self, item: str, count: int = 1) -> Lot | None:
        """Take pieces of one lot; none where no lot holds enough."""
        row = self._lots.get(item, deque())
        while row and row[0].left < count:
            row.popleft()
        if not row:
            return None
        row[0].left -= count
        return row[0]

    def held(self, item: str) -> int:
        """Count the pieces of an item."""
        return sum(lot.left for lot in self._lots.get(item, ()))

    def first(self, item: str) -> Lot | None:
        """Show the lot that is used next."""
        row = self._lots.get(item)
        return row[0] if row else None
