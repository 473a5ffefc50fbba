"""Sightings: the kinds of events by which a unit is known to have been had in hand, not only spoken of at a desk.

Of quarantines those alone that name a place (`Quarantined.handles`).
"""

from typing import Final

from service.domain.event import AssetEvent, Event
from service.domain.kinds import KINDS
from service.domain.kinds.found import Found
from service.domain.kinds.quarantined import Quarantined


def may_show(kind: type[Event]) -> bool:
    """Say whether somebody may have had the unit in hand for an event of a kind, or found it."""
    if not issubclass(kind, AssetEvent):
        return False
    return kind.handles is AssetEvent.handles or kind in {Quarantined, Found}


def sights(event: AssetEvent) -> bool:
    """Say whether somebody is known to have had the unit in hand by an event."""
    return may_show(type(event)) and (not isinstance(event, Quarantined) or event.handles())


SIGHTINGS: Final = tuple(kind.kind for kind in KINDS if may_show(kind))
