"""Remembered: what was made of rows that tell their version, kept until something else was written.

Whoever asks says which version it sees: so what is given is what its own snapshot holds, however old that is.
"""

from collections import OrderedDict
from typing import Generic, TypeVar

import msgspec

Made = TypeVar("Made")


class _Kept(msgspec.Struct, Generic[Made], frozen=True):
    version: int
    made: Made
    weight: int


class Remembered(Generic[Made]):
    """What a process remembers, the last used of it, up to a weight over all; what alone weighs more is not kept."""

    def __init__(self, most: int) -> None:
        self._most, self._weight = most, 0
        self._kept: OrderedDict[str, _Kept[Made]] = OrderedDict()

    def get(self, name: str, version: int) -> Made | None:
        """Give what was made of that version; None where it is not remembered."""
        kept = self._kept.get(name)
        if kept is None or kept.version != version:
            return None
        self._kept.move_to_end(name)
        return kept.made

    def keep(self, name: str, version: int, made: Made, weight: int) -> None:
        """Remember what was made of a version, in place of any other, and forget what was not used for longest."""
        self._forget(name)
        if weight > self._most:
            return
        self._kept[name] = _Kept(version, made, weight)
        self._weight += weight
        while self._weight > self._most:
            self._forget(next(iter(self._kept)))

    def _forget(self, name: str) -> None:
        kept = self._kept.pop(name, None)
        self._weight -= 0 if kept is None else kept.weight
