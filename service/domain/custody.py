"""Custody: where a unit is and who has it. Facts of place and holder are believed even where they contradict.

What may live here: the changes of hand and place that several kinds share. What each kind means stands in its file.
"""

from datetime import datetime
from uuid import UUID

from msgspec.structs import replace

from service.domain.caller import KeyHolder
from service.domain.conflict import Conflict
from service.domain.holder import Holder
from service.domain.unit import Cause, Dated, Unit, phase
from service.domain.withdrawal import hold

NOT_RECEIVED = Conflict("not-received")
OF_ANOTHER_SITE = Conflict("unit-of-another-site")


def end_use(unit: Unit) -> Unit:
    """Take the unit off whoever used it: the cover ends, and so does what was used outside cover.

    A function check that is owed stays owed, in whatever hand.
    """
    owed = tuple(breach for breach in unit.breaches if breach.reason == "function-check-owed")
    return replace(unit, cover=None, breaches=owed, wearings=())


def put_in_store(unit: Unit, at: datetime, place: str | None) -> Unit:
    """Put the unit down in nobody's hands."""
    return replace(end_use(unit), where="in-store", placed_at=at, place=place, holder=None)


def arrive(unit: Unit, at: datetime, site: str | None = None, place: str | None = None) -> Unit:
    """Believe that the unit is here, in nobody's hand: neither in transit nor at service, and at the site named."""
    return replace(put_in_store(unit, at, place), site=site or unit.site, moved_to=None, at_service=None)


def seen(unit: Unit, at: datetime, event: UUID) -> Unit:
    """Believe that a missing unit was found by whoever handles it: it is put aside until it is examined."""
    return hold(replace(arrive(unit, at), missing=False), Cause("found", at, event))


def hand_over(unit: Unit, holder: Holder, site: str | None, issue: Dated) -> Unit:
    """Give the unit to a holder. Out of nobody's hands, and again to the same holder, its cover and use go on.

    The cover of a check made for another person ends.
    """
    here = unit if unit.holder in {None, holder} else end_use(unit)
    cover = here.cover if here.cover is not None and holder.person in {None, here.cover.wearer} else None
    return replace(
        here,
        where="issued",
        placed_at=issue.at,
        place=holder.place,
        holder=holder,
        site=site or unit.site,
        moved_to=None,
        at_service=None,
        cover=cover,
        first_issue=unit.first_issue or issue,
    )


def station(unit: Unit, place: str, site: str | None, issue: Dated) -> Unit:
    """Put the unit at an emergency or standby point, where it counts as in use."""
    here = arrive(unit, issue.at, site, place)
    return replace(here, where="stationed", first_issue=unit.first_issue or issue)


def is_away(unit: Unit) -> bool:
    """Say whether the unit is in transit or at service, even if it is missing besides."""
    return unit.moved_to is not None or unit.at_service is not None


def elsewhere(unit: Unit, site: str | None) -> tuple[Conflict, ...]:
    """Say that the unit is seen at another site than it was believed at, and was not received there."""
    return () if site is None or site == unit.site else (NOT_RECEIVED,)


def by_another_site(unit: Unit, holder: KeyHolder | None) -> tuple[Conflict, ...]:
    """Say that a key bound to other sites disposes of the unit: it leads its own sites (R37)."""
    return () if holder is None or holder.reaches(unit.site) else (OF_ANOTHER_SITE,)


def out_of_use(unit: Unit, doing: str) -> tuple[Conflict, ...]:
    """Say that something was done with the unit in a phase that rules it out."""
    now = phase(unit)
    return (Conflict(f"{doing}-while-{now}"),) if now in {"quarantined", "missing", "at-service", "retired"} else ()
