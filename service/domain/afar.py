"""From afar: what a key is told of a conflict with the history of a unit that is at none of its sites.

Of such a unit it is told whether it may be used, and nothing else. So it hears of what the unit's own site has on
record neither in a code nor in the reasons of one; what its message, its role or a person lacks is told to everybody.
"""

from collections.abc import Iterable
from typing import Final

from service.domain.conflict import Conflict
from service.domain.custody import NOT_RECEIVED, OF_ANOTHER_SITE
from service.domain.event import AssetEvent, Event

OPEN: Final = frozenset(
    {
        *("not-received", "unit-of-another-site"),
        *("unknown-competence", "self-granted-competence", "own-adverse-event", "use-not-authorised", "no-such-row"),
        *("units-outstanding", "unknown-recall", "rehearsal-left-out", "reason-without-unit", "reason-given-twice"),
    }
)
"""Codes that say nothing of the unit but that it is elsewhere. A new code is not told until it stands here."""
RETIRED: Final = frozenset({"while-retired", "checked-while-retired", "worn-while-retired", "issued-while-retired"})


def seen_from_afar(event: Event, conflicts: Iterable[Conflict]) -> tuple[Conflict, ...]:
    """Give the conflicts of an event that keys of other sites are told.

    A retirement stands for all that contradicts an event; in its place is told what would be of any unit elsewhere, so
    that silence does not tell of it.
    """
    every = list(conflicts)
    told = [one for one in every if one.code in OPEN]
    if isinstance(event, AssetEvent) and any(one.code in RETIRED for one in every):
        told += [NOT_RECEIVED] if event.shows_site() else []
        told += [OF_ANOTHER_SITE] if event.disposes else []
    return tuple(dict.fromkeys(told))
