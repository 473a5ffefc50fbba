"""Choices of method that are kept, each made once, however many ask for it at a time.

A choice keeps for a week, since the history that it rests on grows on Mondays; so no question has to make it anew.
"""

from functools import lru_cache
from threading import Lock
from typing import Final

from service.domain.demand.choosing import Choice, choose

KEPT: Final = 4096
"""Choices kept: some hundred sites with forty items each."""
LOOKING_UP: Final = Lock()


class _Kept:
    """The choice for one history; who comes while it is made waits for it."""

    def __init__(self, series: tuple[float, ...], periods: int, level: float) -> None:
        self._said = series, periods, level
        self._making = Lock()
        self._made: Choice | None = None

    def choice(self) -> Choice:
        with self._making:
            if self._made is None:
                self._made = choose(*self._said)
            return self._made


_kept = lru_cache(maxsize=KEPT)(_Kept)


def chosen(series: tuple[float, ...], periods: int, level: float) -> Choice:
    """Choose a method, or give what was chosen for the same history."""
    with LOOKING_UP:
        kept = _kept(series, periods, level)
    return kept.choice()
