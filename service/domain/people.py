"""People: what each person may do, as a timeline of its own.

A competence begins with a `trained` and ends with its last day or an `authorisation-ended`. Nobody grants themselves
more than `wear`. Training adds or extends, never shortens.
"""

from collections.abc import Iterable
from datetime import date

import msgspec

from service.domain.conflict import Conflict
from service.domain.facts import Key
from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.trained import Trained


class Dated(msgspec.Struct, frozen=True):
    """An event about a person, at its place in the order of truth."""

    event: Trained | AuthorisationEnded
    key: Key


class Act(msgspec.Struct, frozen=True):
    """Something that takes a competence: its place in the order of truth, its local day, and the unit's model."""

    key: Key
    on: date
    model: str


class Grant(msgspec.Struct, frozen=True):
    """A competence from a place in the order on, to the end of `last` where the act is (None: no end)."""

    key: Key
    last: date | None
    models: tuple[str, ...]

    def reaches(self, act: Act) -> bool:
        """Say whether the grant, left alone, is good for an act."""
        in_time = self.key < act.key and (self.last is None or act.on <= self.last)
        return in_time and (not self.models or act.model in self.models)


class End(msgspec.Struct, frozen=True):
    """An authorisation ended, for one model or all (None)."""

    key: Key
    model: str | None

    def cuts(self, grant: Grant, act: Act) -> bool:
        """Say whether the end lies between a grant and an act that rests on it."""
        return grant.key < self.key < act.key and self.model in {None, act.model}


class People:
    """The competences of all persons, as known."""

    def __init__(self, facts: Iterable[Dated] = ()) -> None:
        self._grants: dict[tuple[str, str], list[Grant]] = {}
        self._ends: dict[tuple[str, str], list[End]] = {}
        for fact in facts:
            self._note(fact)

    def _note(self, fact: Dated) -> None:
        event = fact.event
        if isinstance(event, AuthorisationEnded):
            self._ends.setdefault((event.person, event.of), []).append(End(fact.key, event.model))
            return
        for competence in granted(event):
            grant = Grant(fact.key, event.valid_until, event.models)
            self._grants.setdefault((event.person, competence), []).append(grant)

    def may(self, person: str, competence: str, act: Act) -> bool:
        """Say whether the person has the competence on record for an act."""
        grants = self._grants.get((person, competence), ())
        ends = self._ends.get((person, competence), ())
        return any(grant.reaches(act) and not any(end.cuts(grant, act) for end in ends) for grant in grants)


def granted(event: Trained) -> tuple[str, ...]:
    """Name the competences that a training really grants: one's own word counts for `wear` only."""
    if event.by != event.person:
        return event.competences
    return tuple(competence for competence in event.competences if competence == "wear")


def contradictions(event: Trained) -> tuple[Conflict, ...]:
    """Say when somebody grants themselves a competence."""
    return () if granted(event) == event.competences else (Conflict("self-granted-competence"),)
