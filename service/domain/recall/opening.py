"""Openings: recalls as they are known, a timeline of their own that units are judged by (decision 12).

A recall holds from the instant of its `recall-opened`, as bad news: where the sender's clock is suspect it is opened
again at its receipt (R9). A recall opened again adds to what it asks and takes nothing back. Closing ends the campaign,
not its effect (R34), and a rehearsal has none.

**Voided.** The voiding of an opening ends nothing by itself (design 3.6): whatever the recall had reached by the
instant of the voiding stays under it until its own way out, be that a remedy, a passing examination later than the
voiding, or a release that rests on it (R26). What comes in later was never under it. Several voidings are as good as
the earliest; that of one's own opening has no effect (R27).
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from uuid import UUID

import msgspec

from service.domain.facts import Key, Taking
from service.domain.kinds.recall_opened import Action, Criterion
from service.domain.recall.matching import may_be_in


class Back(msgspec.Struct, frozen=True):
    """A voiding of an opening: by which event, by whom, and its instant."""

    event: UUID
    by: str
    at: datetime


class Opening(msgspec.Struct, frozen=True):
    """A recall from its place in the order of truth on, as one event opened it; `backs` void it."""

    recall: str
    key: Key
    event: UUID
    by: str
    action: Action
    criteria: tuple[Criterion, ...]
    due_on: date | None = None
    backs: tuple[Back, ...] = ()

    @property
    def at(self) -> datetime:
        """Give the instant from which it holds."""
        return self.key[0]

    @property
    def echo(self) -> bool:
        """Say whether it is the event counting at its receipt, beside its own instant."""
        return self.key[-1]

    @property
    def until(self) -> datetime | None:
        """Give the instant after which it reaches nothing more; None where it stands."""
        return min(back.at for back in self.backs) if self.backs else None


def criteria_standing(openings: Iterable[Opening], at: datetime) -> list[Criterion]:
    """Give the criteria of the openings that nobody had taken back by a moment."""
    standing = (one for one in openings if one.until is None or one.until > at)
    return [criterion for opening in standing for criterion in opening.criteria]


def supposed(criteria: tuple[Criterion, ...], at: datetime) -> Opening:
    """Give an opening that nobody made: what a recall would speak of that was opened at a moment."""
    nobody = UUID(int=0)
    return Opening("", (at, True, 0, "", -1, nobody.bytes, False), nobody, "", "information", criteria)


class Openings:
    """All openings that stand or stood, in order of their place."""

    def __init__(self, openings: Iterable[Opening] = ()) -> None:
        self._openings = sorted(openings, key=lambda opening: opening.key)
        self._about: dict[tuple[tuple[str, ...], frozenset[str]], tuple[Opening, ...]] = {}

    def __bool__(self) -> bool:
        """Say whether there is any."""
        return bool(self._openings)

    def __iter__(self) -> Iterator[Opening]:
        """Give them in order."""
        return iter(self._openings)

    def begun(self, at: datetime) -> bool:
        """Say whether any was opened before a moment."""
        return bool(self._openings) and self._openings[0].at < at

    def about(self, models: tuple[str, ...], items: frozenset[str]) -> tuple[Opening, ...]:
        """Give those that could bear on a unit of any of these models in which none but these items sit."""
        found = self._about.get((models, items))
        if found is None:
            found = self._about[models, items] = tuple(
                opening
                for opening in self._openings
                if any(may_be_in(criterion, models, items) for criterion in opening.criteria)
            )
        return found

    def voided(self, recall: str, at: datetime) -> datetime | None:
        """Give the instant since which a recall is voided altogether, of all its openings before a moment."""
        ends = [opening.until for opening in self._openings if opening.recall == recall and opening.at < at]
        known = [end for end in ends if end is not None]
        return max(known) if known and len(known) == len(ends) else None

    def recall_of(self, event: UUID) -> str | None:
        """Name the recall that an event opened."""
        return next((opening.recall for opening in self._openings if opening.event == event), None)

    def takings(self) -> dict[UUID, Taking]:
        """Give what a release may rest on, by voiding."""
        found: dict[UUID, Taking] = {}
        for opening in self._openings:
            keys = tuple(other.key for other in self._openings if other.event == opening.event)
            for back in opening.backs:
                found[back.event] = Taking(opening.event, opening.by, back.by, back.at, keys)
        return found
