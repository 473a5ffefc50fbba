"""AssociationEvents: what is fitted to a unit, and what is taken out of it."""

from collections.abc import Iterator

from service.domain.event import AssetEvent
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.outbound.epcis.act import Act
from service.outbound.epcis.names import Names
from service.outbound.epcis.objects import where, words
from service.outbound.epcis.parts import Change, changes, child, told
from service.outbound.epcis.table import CARRIED, FITTED, LEFT, NAMED, UNNAMED

Json = dict[str, object]


def associations(event: AssetEvent, act: Act, names: Names) -> Iterator[Json]:
    """Draw the events of a unit's parts, and of a unit that is itself a part of another.

    With a new name what sits in it goes along. A part that is identified has another name from then on, where it was
    known by one.
    """
    for change in _renamed(event, act, names) or changes(event):
        yield _association(change, event.asset, event, act, names)
    if isinstance(event, Retagged):
        for row, tag in ((LEFT, event.asset), (CARRIED, event.new_tag)):
            for placed in act.carried:
                yield _association(Change(row, placed.position, placed.part), tag, event, act, names)
    if isinstance(event, Registered) and event.fitted_to is not None:
        yield {
            "type": "AssociationEvent",
            "parentID": names.unit(event.fitted_to),
            "childEPCs": [names.unit(event.asset)],
            **words(FITTED, act, names),
            **where(event, FITTED, act, names),
        }


def _renamed(event: AssetEvent, act: Act, names: Names) -> list[Change]:
    """Give the names of a part that is identified: the one it had, and its own; nothing where they are the same."""
    if not isinstance(event, PartIdentified):
        return []
    had = [one.part for one in act.carried if child(one.part, act, names) != child(event.part, act, names)]
    return [
        change
        for part in had
        for change in (Change(UNNAMED, event.position, part), Change(NAMED, event.position, event.part))
    ]


def _association(change: Change, tag: str, event: AssetEvent, act: Act, names: Names) -> Json:
    row, position, part = change
    return {
        "type": "AssociationEvent",
        "parentID": names.unit(tag),
        **child(part, act, names),
        **words(row, act, names),
        **where(event, row, act, names),
        **told(position, part),
    }
