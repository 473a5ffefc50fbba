"""Asking: what the openings of a recall say of a part, of a position, or of a unit.

Of a part it depends on what it is and on the models of the unit that it sits in, so it is found once for all alike.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import Final, NamedTuple

from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part
from service.domain.recall.bearing import part_match, unit_match, unstated_match
from service.domain.recall.listing import Listing
from service.domain.recall.matching import Match, any_of, speaks_of_parts
from service.domain.recall.opening import Opening
from service.domain.standing import FOREVER
from service.domain.unit import Unit

Models = tuple[str, ...]


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


class _Answers(dict[Part, Answer]):
    """What was answered before, by part; of any other the openings are asked now."""

    def __init__(self, answer: Callable[[Part], Answer]) -> None:
        super().__init__()
        self._answer = answer

    def __missing__(self, part: Part) -> Answer:
        found = self[part] = self._answer(part)
        return found


class _Listed(NamedTuple):
    """What is spoken of in positions of which nothing was said, by what is listed for them."""

    listing: Listing
    told: Mapping[str, Answer]


class Within:
    """The openings of a recall, asked about what sits in units of some models."""

    def __init__(self, models: Models, speaking: Sequence[_Speaking]) -> None:
        self.parts: Mapping[Part, Answer] = _Answers(self._about_part)
        self._models, self._speaking = models, speaking
        self._listed: dict[int, _Listed] = {}

    def unstated(self, listing: Listing) -> Mapping[str, Answer]:
        """Give by position what is spoken of that may sit there, if nothing was said of it; of no others.

        Units that are alike share a listing: what is said of it is found by its identity, and it is kept as long.
        """
        found = self._listed.get(id(listing))
        if found is None:
            every = ((position, self._about(items)) for position, items in listing.items())
            told = {position: said for position, said in every if said.by}
            found = self._listed[id(listing)] = _Listed(listing, told)
        return found.told

    def _about_part(self, part: Part) -> Answer:
        return _answer(self._speaking, lambda criterion: part_match(self._models, criterion, part))

    def _about(self, items: Sequence[str]) -> Answer:
        return _answer(self._speaking, lambda criterion: unstated_match(self._models, criterion, items))


class Asking:
    """The openings of one recall, ready to be asked about one unit after another."""

    def __init__(self, openings: Sequence[Opening]) -> None:
        self.recall = openings[0].recall
        self.of_parts, self.of_units = (tuple(_speaking(openings, parts=parts)) for parts in (True, False))
        self._within: dict[Models, Within] = {}

    def about(self, unit: Unit) -> Answer:
        """Say what is spoken of a unit itself."""
        return _answer(self.of_units, partial(unit_match, unit))

    def within(self, models: Models) -> Within:
        """Give whom to ask about what sits in a unit of such models: of all that are alike it is found once."""
        found = self._within.get(models)
        if found is None:
            found = self._within[models] = Within(models, self.of_parts)
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
