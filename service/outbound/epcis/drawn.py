"""The EPCIS events that tell of one act: one, several where parts change or a tag does, or none."""

from collections.abc import Iterator

from service.domain.event import AssetEvent, StockEvent
from service.outbound.epcis.act import Act
from service.outbound.epcis.associations import associations
from service.outbound.epcis.names import Names, own
from service.outbound.epcis.objects import objects
from service.outbound.epcis.stock import stocked
from service.outbound.epcis.table import ASSOCIATED, LEFT_OUT
from service.outbound.epcis.when import stamped

Json = dict[str, object]


def drawn(act: Act, names: Names) -> Iterator[Json]:
    """Draw the events that tell of an act, each with the kind of ours and the unit's id, which outlives its tags.

    Where no more than the day is known, that is told, since EPCIS asks for a moment.
    """
    kind, day = act.recorded.event.kind, act.recorded.event.occurred_on
    said = {own("kind"): kind} | ({} if act.unit is None else {own("unit"): act.unit.urn})
    said |= {} if day is None else {own("occurred_on"): day.isoformat()}
    for nth, event in enumerate(_unstamped(act, names)):
        yield {"type": event["type"], **stamped(act, nth), **event, **said}


def _unstamped(act: Act, names: Names) -> Iterator[Json]:
    event = act.recorded.event
    if event.kind in LEFT_OUT:
        return
    if isinstance(event, StockEvent):
        yield stocked(event, act, names)
    if isinstance(event, AssetEvent):
        if event.kind not in ASSOCIATED:
            yield from objects(event, act, names)
        yield from associations(event, act, names)
