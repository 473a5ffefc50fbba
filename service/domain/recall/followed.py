"""Followed: the lots told of a part by its serial number, wherever it sat, for where its lot was not taken down."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Final

from service.domain.label import sorting
from service.domain.part import Part
from service.domain.stays import Stay

Piece = tuple[str, str]
"""An item, and the serial number of a part of it as it is compared."""
Lots = Mapping[Piece, tuple[str, ...]]
NONE: Final[Lots] = {}


class Following:
    """The lots told of parts with a serial number, by the stays of one unit after the other."""

    def __init__(self) -> None:
        self._found: defaultdict[Piece, set[str]] = defaultdict(set)

    def add(self, stays: Iterable[Stay]) -> None:
        """Take what stays tell."""
        for stay in stays:
            part = stay.part
            if part is not None and part.serial is not None and part.lot is not None:
                self._found[part.item, sorting(part.serial)].add(part.lot)

    @property
    def lots(self) -> Lots:
        """Give the lots, those of a part in order."""
        return {piece: tuple(sorted(lots, key=lambda lot: (sorting(lot), lot))) for piece, lots in self._found.items()}


def lots_of(part: Part, told: Lots) -> tuple[str, ...]:
    """Give the lots that a part may be known by whose own was not taken down."""
    if part.lot is not None or part.serial is None:
        return ()
    return told.get((part.item, sorting(part.serial)), ())
