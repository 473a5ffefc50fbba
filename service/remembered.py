"""Remembered: what was made of rows that tell their version, kept until something else was written.

Whoever asks says which version it sees: so what is given is what its own snapshot holds, however old that is.
"""

from collections import OrderedDict
from collections.abc import Mapping
from functools import lru_cache
from typing import Generic, TypeVar
from uuid import UUID

import msgspec

Made = TypeVar("Made")


class _Kept(msgspec.Struct, Generic[Made]):
    version: int
    made: Made
    weight: int


class Remembered(Generic[Made]):
    """What a process remembers, up to a weight over all: what was not used for longest is forgotten first.

    Each is of somebody, by name. What is asked for together drives out nothing that is: of more than there is room for
    a part is kept, and known when it is asked for again.
    """

    def __init__(self, most: int) -> None:
        self._most, self._weight, self._used = most, 0, 0
        self._kept: OrderedDict[str, _Kept[Made]] = OrderedDict()

    def known(self, of: UUID, wanted: Mapping[str, int]) -> dict[str, Made]:
        """Give what was made of those of the names, each in its version, that is remembered."""
        ours, found = _prefix(of), dict[str, Made]()
        self._used = 0
        for name, version in wanted.items():
            kept = self._kept.get(whole := ours + name)
            if kept is not None and kept.version == version:
                self._kept.move_to_end(whole)
                self._used += kept.weight
                found[name] = kept.made
        return found

    def keep(self, of: UUID, name: str, version: int, made: Made, weight: int) -> Made:
        """Remember what was made of a version, in place of any other, if what was last asked for leaves room for it.

        What another question made of it meanwhile stays, and is given: what grows is then the same for both.
        """
        whole = _prefix(of) + name
        kept = self._kept.get(whole)
        if kept is not None and kept.version == version:
            self._kept.move_to_end(whole)
            self._used += kept.weight
            return kept.made
        self._forget(whole)
        if self._used + weight <= self._most:
            self._kept[whole] = _Kept(version, made, weight)
            self._add(weight)
        return made

    def grows(self, of: UUID, name: str, version: int, weight: int) -> bool:
        """Say whether there is room for so much more to what was made of a version and is remembered: then it is."""
        kept = self._kept.get(whole := _prefix(of) + name)
        if kept is None or kept.version != version or self._used + weight > self._most:
            return False
        kept.weight += weight
        self._kept.move_to_end(whole)
        self._add(weight)
        return True

    def _add(self, weight: int) -> None:
        self._used += weight
        self._weight += weight
        while self._weight > self._most:
            self._forget(next(iter(self._kept)))

    def _forget(self, whole: str) -> None:
        kept = self._kept.pop(whole, None)
        self._weight -= 0 if kept is None else kept.weight


@lru_cache(maxsize=64)
def _prefix(of: UUID) -> str:
    return f"{of} "
