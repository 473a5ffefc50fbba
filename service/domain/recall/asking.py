"""Asking: what the openings of a recall say of a part, of a position, or of a unit.

Of a part it depends on its names and on the models of the unit that it sits in, so it is found once for all alike.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part, names
from service.domain.recall.bearing import part_match, unit_match, unstated_match
from service.domain.recall.matching import Match, any_of, speaks_of_parts
from service.domain.recall.opening import Opening
from service.domain.unit import Unit

Models = tuple[str, ...]


class Answer(NamedTuple):
    """Whether something is spoken of, and by which openings: those of which a criterion of their own does."""

    match: Match
    by: tuple[Opening, ...]


class _Speaking(NamedTuple):
    """An opening with those of its criteria that speak of parts, or of units."""

    opening: Opening
    criteria: tuple[Criterion, ...]


class Asking:
    """The openings of one recall, ready to be asked about one unit after another."""

    def __init__(self, openings: Sequence[Opening]) -> None:
        self.recall = openings[0].recall
        self.of_parts, self.of_units = (tuple(_speaking(openings, parts=parts)) for parts in (True, False))
        self._parts: dict[tuple[Models, tuple[str | None, ...]], Answer] = {}
        self._unstated: dict[tuple[Models, tuple[str, ...]], Answer] = {}

    def about(self, unit: Unit) -> Answer:
        """Say what is spoken of a unit itself."""
        return _answer(self.of_units, partial(unit_match, unit=unit))

    def about_part(self, unit: Unit, part: Part) -> Answer:
        """Say what is spoken of a part in a unit."""
        key = (unit.models, names(part))
        found = self._parts.get(key)
        if found is None:
            found = self._parts[key] = _answer(self.of_parts, partial(part_match, unit=unit, part=part))
        return found

    def about_unstated(self, unit: Unit, items: tuple[str, ...]) -> Answer:
        """Say what is spoken of whatever sits in a position that lists some items, of which nothing was said."""
        key = (unit.models, items)
        found = self._unstated.get(key)
        if found is None:
            found = self._unstated[key] = _answer(self.of_parts, partial(unstated_match, unit=unit, items=items))
        return found


def _speaking(openings: Iterable[Opening], *, parts: bool) -> Iterator[_Speaking]:
    for opening in openings:
        criteria = tuple(one for one in opening.criteria if speaks_of_parts(one) is parts)
        if criteria:
            yield _Speaking(opening, criteria)


def _answer(speaking: Iterable[_Speaking], match: Callable[[Criterion], Match]) -> Answer:
    told = [(one.opening, any_of(map(match, one.criteria))) for one in speaking]
    by = tuple(opening for opening, found in told if found is not False)
    return Answer(any_of(found for _, found in told) if by else False, by)
