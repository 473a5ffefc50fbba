"""Allotment: what sites can spare of an item is promised once, to the sites that want it in the order of their names.

It is worked out as far as it is asked for, and the same for every page and every single read: who comes first has its
part whoever asks. Sites are taken fifty at a time in that order, and one gives within its fifty, so that no question
has to work out the needs of all sites of a large firm.
"""

from collections.abc import Iterable, Sequence
from typing import Final

from service.domain.ordering.reckoning import Reckoned
from service.domain.ordering.transfers import Surplus, Transfer, less, transfers

NEIGHBOURS: Final = 50
"""How many sites give to each other."""


def neighbours(site: str, sites: Iterable[str]) -> Sequence[str]:
    """Give the sites among which one gives and is given to, in order; none where it is not among them itself."""
    every = sorted(sites)
    if site not in every:
        return ()
    first = every.index(site) // NEIGHBOURS * NEIGHBOURS
    return every[first : first + NEIGHBOURS]


class Allotment:
    """What is offered of an item and not promised yet, and the sites whose turn has not come."""

    def __init__(self, offered: Iterable[Surplus], sites: Iterable[str]) -> None:
        self._offered = tuple(offered)
        self._waiting = sorted(sites, reverse=True)
        self._promised: dict[str, tuple[Transfer, ...]] = {}

    def turn(self, site: str) -> str | None:
        """Name who is to say next what it wants before a site can be told what it gets; None where nobody is."""
        return self._waiting[-1] if self._offered and self._waiting and self._waiting[-1] <= site else None

    def promise(self, wants: Reckoned | None) -> None:
        """Promise what the one whose turn it is wants; None for nothing."""
        site = self._waiting.pop()
        self._promised[site] = () if wants is None else transfers(wants.reorder.wanted, self._offered, wants.used_by)
        self._offered = less(self._offered, self._promised[site])

    def promised(self, site: str) -> tuple[Transfer, ...]:
        """Give what was promised to a site."""
        return self._promised.get(site, ())
