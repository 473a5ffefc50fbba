"""People: what each person may do, as a timeline of its own.

A competence begins with a `trained` and ends with its last day or an `authorisation-ended`. Nobody grants themselves
more than `wear`. Training adds or extends, never shortens.
"""

from bisect import insort
from collections.abc import Iterable
from datetime import datetime

import msgspec

from service.domain.kinds.authorisation_ended import AuthorisationEnded
from service.domain.kinds.trained import Trained
from service.domain.standing import FOREVER


class Grant(msgspec.Struct, frozen=True, order=True):
    """A competence from `since` up to `until`, for some models or all (None)."""

    since: datetime
    until: datetime
    models: tuple[str, ...] | None = None


class End(msgspec.Struct, frozen=True, order=True):
    """An authorisation ended, for one model or all (None)."""

    at: datetime
    model: str | None = None


class Dated(msgspec.Struct, frozen=True):
    """An event about a person with its instant and the end of its last day (FOREVER without one)."""

    event: Trained | AuthorisationEnded
    at: datetime
    until: datetime = FOREVER


class People:
    """The competences of all persons, as known."""

    def __init__(self, facts: Iterable[Dated] = ()) -> None:
        self._grants: dict[tuple[str, str], list[Grant]] = {}
        self._ends: dict[tuple[str, str], list[End]] = {}
        for fact in facts:
            self._note(fact)

    def _note(self, fact: Dated) -> None:
        event = fact.event
        if isinstance(event, Trained):
            for competence in granted(event):
                grant = Grant(fact.at, fact.until, event.models or None)
                insort(self._grants.setdefault((event.person, competence), []), grant, key=lambda g: g.since)
        else:
            insort(self._ends.setdefault((event.person, event.of), []), End(fact.at, event.model), key=lambda e: e.at)

    def may(self, person: str, competence: str, at: datetime, model: str | None = None) -> bool:
        """Say whether the person has the competence on record at the moment, for the model."""
        ends = [
            end.at
            for end in self._ends.get((person, competence), ())
            if end.at <= at and (end.model is None or end.model == model)
        ]
        ended = ends[-1] if ends else None
        return any(
            grant.since <= at < grant.until
            and (grant.models is None or model in grant.models)
            and (ended is None or grant.since > ended)
            for grant in self._grants.get((person, competence), ())
        )


def granted(event: Trained) -> tuple[str, ...]:
    """Name the competences that a training really grants: one's own word counts for `wear` only."""
    if event.by != event.person:
        return event.competences
    return tuple(competence for competence in event.competences if competence == "wear")
