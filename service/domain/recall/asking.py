"""Asking: what the openings of a recall say of a part, of a position, or of a unit.

Of a part it depends on what it is and on the models of the unit that it sits in, so it is found once for all alike.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import Final, NamedTuple, TypeVar

from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part
from service.domain.recall.bearing import part_match, unit_match, unstated_match
from service.domain.recall.matching import Match, any_of, speaks_of_parts
from service.domain.recall.opening import Opening
from service.domain.standing import FOREVER
from service.domain.unit import Unit

Models = tuple[str, ...]
Asked = TypeVar("Asked", bound=Hashable)


class Answer(NamedTuple):
    """Whether something is spoken of, and by which openings: those of which a criterion of their own does.

    `opened` is when the first of these was, `renewed` when the last was.
    """

    match: Match
    by: tuple[Opening, ...]
    opened: datetime
    renewed: datetime


NOTHING: Final = Answer(match=False, by=(), opened=FOREVER, renewed=FOREVER)


class _Speaking(NamedTuple):
    """An opening with those of its criteria that speak of parts, or of units."""

    opening: Opening
    criteria: tuple[Criterion, ...]


class _Answers(dict[Asked, Answer]):
    """What was answered before, by what was asked about; of anything else the openings are asked now."""

    def __init__(self, speaking: Sequence[_Speaking], match: Callable[[Criterion, Asked], Match]) -> None:
        super().__init__()
        self._speaking, self._match = speaking, match

    def __missing__(self, asked: Asked) -> Answer:
        found = self[asked] = _answer(self._speaking, lambda criterion: self._match(criterion, asked))
        return found


class Asking:
    """The openings of one recall, ready to be asked about one unit after another."""

    def __init__(self, openings: Sequence[Opening]) -> None:
        self.recall = openings[0].recall
        self.of_parts, self.of_units = (tuple(_speaking(openings, parts=parts)) for parts in (True, False))
        self._parts: dict[Models, _Answers[Part]] = {}
        self._unstated: dict[Models, _Answers[tuple[str, ...]]] = {}

    def about(self, unit: Unit) -> Answer:
        """Say what is spoken of a unit itself."""
        return _answer(self.of_units, partial(unit_match, unit))

    def parts_in(self, models: Models) -> Mapping[Part, Answer]:
        """Give by part what is spoken of it in a unit of such models; any part may be asked about."""
        found = self._parts.get(models)
        if found is None:
            found = self._parts[models] = _Answers(self.of_parts, partial(part_match, models))
        return found

    def unstated_in(self, models: Models) -> Mapping[tuple[str, ...], Answer]:
        """Give what is spoken of whatever sits in a position of which nothing was said, by the items listed."""
        found = self._unstated.get(models)
        if found is None:
            found = self._unstated[models] = _Answers(self.of_parts, partial(unstated_match, models))
        return found


def _speaking(openings: Iterable[Opening], *, parts: bool) -> Iterator[_Speaking]:
    for opening in openings:
        criteria = tuple(one for one in opening.criteria if speaks_of_parts(one) is parts)
        if criteria:
            yield _Speaking(opening, criteria)


def _answer(speaking: Iterable[_Speaking], match: Callable[[Criterion], Match]) -> Answer:
    told = [(one.opening, any_of(map(match, one.criteria))) for one in speaking]
    by = tuple(opening for opening, found in told if found is not False)
    if not by:
        return NOTHING
    moments = [opening.at for opening in by]
    return Answer(any_of(found for _, found in told), by, min(moments), max(moments))
