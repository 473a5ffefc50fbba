"""ObjectEvents of stock: a quantity of an item, of a lot where it is known."""

import re

from service.domain.event import StockEvent
from service.domain.kinds.stock_moved import StockMoved
from service.domain.stock.changes import ONE
from service.domain.stock.lines import unit_of
from service.outbound.epcis.act import Act
from service.outbound.epcis.names import Names, own
from service.outbound.epcis.objects import words
from service.outbound.epcis.parts import LOT, named
from service.outbound.epcis.table import STOCK

Json = dict[str, object]

UNIT = re.compile("[A-Z0-9]{2,3}")
"""A code of UN/ECE Recommendation 20, by its form."""


def stocked(event: StockEvent, act: Act, names: Names) -> Json:
    """Draw the event of a quantity."""
    row, number = STOCK[event.kind], None if event.lot is None else (LOT, "lots", event.lot)
    quantity: Json = {"epcClass": named(event.item, number, act, names), "quantity": event.quantity}
    if UNIT.fullmatch(event.unit) and unit_of(event.unit) != ONE:  # EPCIS counts pieces where it is told no unit
        quantity["uom"] = event.unit
    there = {"bizLocation": {"id": names.place(event.site, getattr(event, "place", None))}} if row.stays else {}
    return {
        "type": "ObjectEvent",
        "quantityList": [quantity],
        **words(row, act, names),
        "readPoint": {"id": names.place(event.site, None)},
        **there,
        **_whither(event, names),
        **_papers(event, names),
        **({} if event.expires is None else {own("expires"): event.expires}),
    }


def _whither(event: StockEvent, names: Names) -> Json:
    if not isinstance(event, StockMoved):
        return {}
    return {"destinationList": [{"type": "location", "destination": names.place(event.to_site, None)}]}


def _papers(event: StockEvent, names: Names) -> Json:
    order = getattr(event, "order", None)
    return {"bizTransactionList": [{"type": "po", "bizTransaction": names.thing("orders", order)}]} if order else {}
