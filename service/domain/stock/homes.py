"""Homes: the site where a part was fitted of which nobody said where, told by where its unit was then.

A date alone counts at the end of its day where the unit was (R3); as the day ends at another moment elsewhere, each
place where the unit was about then is asked by its own clock. Where it left before its day ended and came where that
was over already, it is where it came last.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import NamedTuple

from service.domain.calendar import day_end
from service.domain.world import World


class Spell(NamedTuple):
    """A unit was at a site, in [since, until), without an end where `until` is None; `own` says it has the tag now.

    Where `since` is None it is only known to be there now.
    """

    site: str
    since: datetime | None
    until: datetime | None
    own: bool


def home_of(spells: Sequence[Spell], day: date | None, world: World) -> str:
    """Give the site of a fit, of a day or (None) of the moment that the spells are of; one spell is there at least.

    Of several units that may be meant that one counts which was anywhere then, then the one that has the tag now.
    """
    told = [one for one in spells if one.since is not None]
    held = told if day is None else [one for one in told if _holds(one, day, world)]
    every = held or told or spells
    own = [one for one in every if one.own] or list(every)
    return own[-1].site


def _holds(spell: Spell, day: date, world: World) -> bool:
    if spell.since is None:  # pragma: no cover - those are left out before
        return False
    over = day_end(day, world.zone_on(spell.site, day))
    return spell.since <= over and (spell.until is None or over < spell.until)
