"""AssociationEvents: what is fitted to a unit, and what is taken out of it."""

from collections.abc import Iterator

from service.domain.event import AssetEvent
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.part import names as naming
from service.outbound.epcis.act import Act
from service.outbound.epcis.names import Names
from service.outbound.epcis.objects import where, words
from service.outbound.epcis.parts import Change, changes, child, told
from service.outbound.epcis.table import CARRIED, FITTED, IDENTIFIED, LEFT, NAMED, UNNAMED

Json = dict[str, object]


def associations(event: AssetEvent, act: Act, names: Names) -> Iterator[Json]:
    """Draw the events of a unit's parts, and of a unit that is itself a part of another.

    With a new name what sits in it goes along. A part that is identified has another name from then on, where it was
    known by one.
    """
    for change in _looked_at(event, act, names) or changes(event):
        yield _association(change, event.asset, event, act, names)
    if isinstance(event, Retagged):
        for row, tag in ((LEFT, event.asset), (CARRIED, event.new_tag)):
            for placed in act.carried:
                yield _association(Change(row, placed.position, placed.part, sat=True), tag, event, act, names)
    if isinstance(event, Registered) and event.fitted_to is not None:
        yield {
            "type": "AssociationEvent",
            "parentID": names.unit(event.fitted_to),
            "childEPCs": [names.unit(event.asset)],
            **words(FITTED, act, names),
            **where(event, FITTED, act, names),
        }


def _looked_at(event: AssetEvent, act: Act, names: Names) -> list[Change]:
    """Give what is told of a part that is identified and was known: its old name and its own, else the one it has."""
    if not isinstance(event, PartIdentified):
        return []
    for one in act.carried:
        if naming(one.part) == naming(event.part):
            return [Change(IDENTIFIED, event.position, event.part, sat=True)]
        if child(one.part, act.of_what_sat(event.position), names) != child(event.part, act, names):
            return [Change(UNNAMED, event.position, one.part, sat=True), Change(NAMED, event.position, event.part)]
    return []


def _association(change: Change, tag: str, event: AssetEvent, act: Act, names: Names) -> Json:
    row, position, part, sat = change
    return {
        "type": "AssociationEvent",
        "parentID": names.unit(tag),
        **child(part, act.of_what_sat(position) if sat else act, names),
        **words(row, act, names),
        **where(event, row, act, names),
        **told(position, part),
    }
