"""What an event proves of its unit: judged by what was known of the unit before it, never believed."""

from service.domain.check import CheckEvent
from service.domain.facts import Fact
from service.domain.kinds.examined import Examined
from service.domain.kinds.released import Released
from service.domain.kinds.repaired import Repaired
from service.domain.unit import Unit
from service.domain.verdict import Outcome
from service.domain.world import World


def proof(fact: Fact, before: Unit, world: World) -> Outcome | None:
    """Say what an event proves of a unit; None of kinds that prove nothing.

    A repair by nobody competent and a release without ground are incomplete.
    """
    match fact.event:
        case CheckEvent() as check:
            return "failing" if check.adverse() else check.verdict(before, fact, world).outcome
        case Examined() as examined:
            return examined.outcome(before, fact, world)
        case Repaired() | Released() as act:
            return "incomplete" if act.contradicts(before, fact, world) else "passing"
    return None


def withdraws(fact: Fact, before: Unit, world: World) -> bool:
    """Say whether a failing check or examination ends the unit's use until it is released, by itself."""
    match fact.event:
        case CheckEvent() as check:
            return proof(fact, before, world) == "failing" and check.verdict(before, fact, world).asks != {"recheck"}
        case Examined():
            return proof(fact, before, world) == "failing"
    return False
