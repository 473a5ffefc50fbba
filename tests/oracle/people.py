"""Who had which competence on record at a moment."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from tests.oracle.fact import Fact, echo, fact

if TYPE_CHECKING:
    from tests.oracle.world import World


class People:
    """All trainings and endings of authorisation that stand."""

    def __init__(self, world: World) -> None:
        self.granted = [
            fact(record, world.book) for record in world.known if record.kind == "trained" and not world.voided(record)
        ]
        ended = [fact(record, world.book) for record in world.known if record.kind == "authorisation-ended"]
        suspects = [one for one in ended if world.suspect(one, [], None) and one.at != one.record.received_at]
        self.ended = ended + [echo(one) for one in suspects]

    def competent(self, person: str, competence: str, act: Fact, model: str | None) -> bool:
        """Say whether a person had a competence, by occurred time, at the moment of an act."""
        return any(self.holds(grant, person, competence, act, model) for grant in self.granted)

    def holds(self, grant: Fact, person: str, competence: str, act: Fact, model: str | None) -> bool:
        """Say whether one training still gives a competence at an act."""
        models, until = grant.get("models"), grant.get("valid_until")
        return (
            grant.get("person") == person
            and competence in competences(grant)
            and (not models or model in models)
            and grant.key < act.key
            and (until is None or act.local_day <= date.fromisoformat(until))
            and not any(ends(end, person, competence, model) and grant.key < end.key < act.key for end in self.ended)
        )


def self_granted(grant: Fact) -> bool:
    """Say whether a person grants themselves more than wearing."""
    return bool(grant.get("by") == grant.get("person") and set(grant.get("competences")) - {"wear"})


def competences(grant: Fact) -> set[str]:
    """Give what a training counts for: nobody grants themselves more than wearing."""
    given = set(grant.get("competences"))
    return given & {"wear"} if self_granted(grant) else given


def ends(end: Fact, person: str, competence: str, model: str | None) -> bool:
    """Say whether an ending takes a competence from a person."""
    of = end.get("of")
    ended = of if isinstance(of, list) else [of]
    return bool(end.get("person") == person and competence in ended and end.get("model") in {None, model})
