"""AssociationEvents: what is fitted to a unit, and what is taken out of it."""

from collections.abc import Iterator

from service.domain.event import AssetEvent
from service.domain.kinds.registered import Registered
from service.outbound.epcis.act import Act
from service.outbound.epcis.names import Names
from service.outbound.epcis.objects import where, words
from service.outbound.epcis.parts import changes, child, told
from service.outbound.epcis.table import FITTED

Json = dict[str, object]


def associations(event: AssetEvent, act: Act, names: Names) -> Iterator[Json]:
    """Draw the events of a unit's parts, and of a unit that is itself a part of another."""
    for row, position, part in changes(event):
        yield {
            "type": "AssociationEvent",
            "parentID": names.unit(event.asset),
            **child(part, act, names),
            **words(row, act, names),
            **where(event, row, act, names),
            **told(position, part),
        }
    if isinstance(event, Registered) and event.fitted_to is not None:
        yield {
            "type": "AssociationEvent",
            "parentID": names.unit(event.fitted_to),
            "childEPCs": [names.unit(event.asset)],
            **words(FITTED, act, names),
            **where(event, FITTED, act, names),
        }
