"""Custody: where a unit is and who has it. Facts of place and holder are believed even where they contradict.

What may live here: the changes of hand and place that several kinds share. What each kind means stands in its file.
"""

from datetime import datetime
from uuid import UUID

from msgspec.structs import replace

from service.domain.conflict import Conflict
from service.domain.holder import Holder
from service.domain.unit import Cause, Evidence, Unit, phase
from service.domain.withdrawal import hold, put_away_if_held

NOT_RECEIVED = Conflict("not-received")


def leave_hand(unit: Unit) -> Unit:
    """Take the unit out of the hand that had it: its cover ends, and what was used outside cover ends with it.

    A function check that is owed stays owed, in whatever hand.
    """
    owed = tuple(breach for breach in unit.breaches if breach.reason == "function-check-owed")
    return replace(unit, where="in-store", holder=None, place=None, cover=None, breaches=owed, wearing=None)


def arrive(unit: Unit, site: str | None) -> Unit:
    """Believe that the unit is here, in nobody's hand: neither in transit nor at service, and at the site named."""
    return replace(leave_hand(unit), site=site or unit.site, moved_to=None, at_service=None)


def seen(unit: Unit, at: datetime, event: UUID) -> Unit:
    """Believe that a missing unit was found by whoever handles it: it is put aside until it is examined."""
    return hold(replace(leave_hand(unit), missing=False), Cause("found", at, event))


def hand_over(unit: Unit, holder: Holder, site: str | None, at: datetime, event: UUID) -> Unit:
    """Give the unit to a holder; one that was put away is in somebody's hands again.

    Out of store, and again to the same holder, the cover of a check made for that person goes on.
    """
    fresh = unit.where == "in-store" and unit.moved_to is None and unit.at_service is None
    kept = unit.cover if fresh or unit.holder == holder else None
    if kept is not None and holder.person not in {None, kept.wearer}:
        kept = None
    here = arrive(unit, site)
    if unit.holder == holder:
        here = replace(here, breaches=unit.breaches, wearing=unit.wearing)
    first = unit.first_issue or Evidence(at, event)
    return replace(here, where="issued", holder=holder, cover=kept, put_away=None, first_issue=first)


def station(unit: Unit, place: str, site: str | None, at: datetime, event: UUID) -> Unit:
    """Put the unit at an emergency or standby point, where it counts as in use."""
    here = arrive(unit, site)
    first = unit.first_issue or Evidence(at, event)
    return replace(here, where="stationed", place=place, put_away=None, first_issue=first)


def store(unit: Unit, place: str | None, site: str | None, at: datetime) -> Unit:
    """Put the unit into store; withdrawn, it is put away."""
    return put_away_if_held(replace(arrive(unit, site), place=place), at)


def elsewhere(unit: Unit, site: str | None) -> tuple[Conflict, ...]:
    """Say that the unit is seen at another site than it was believed at, and was not received there."""
    return () if site is None or site == unit.site else (NOT_RECEIVED,)


def away(unit: Unit, doing: str) -> tuple[Conflict, ...]:
    """Say that something was done with the unit in a phase that rules it out."""
    now = phase(unit)
    return (Conflict(f"{doing}-while-{now}"),) if now in {"quarantined", "missing", "at-service", "retired"} else ()
