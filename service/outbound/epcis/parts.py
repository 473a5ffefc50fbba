"""Parts of units: what each is called, and what else is known of it.

A part with a serial number is one thing, one with a lot or an item alone is one of a class. Where the firm has defined
a GTIN of the item, and the number is one that GS1 lets stand beside it, the name is a GS1 Digital Link; else it is an
address of the firm's own. A name has one number in it (CBV 2.0): the lot of a part with a serial number stands beside.
"""

from collections.abc import Iterator
from typing import NamedTuple
from urllib.parse import quote

from service.domain.event import Event, StockEvent
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.repaired import Repaired
from service.domain.part import Part, RemovedPart
from service.domain.scan.elements import only
from service.domain.scan.reading import Unreadable
from service.outbound.epcis.act import Act
from service.outbound.epcis.names import Names, own
from service.outbound.epcis.table import FITTED, IDENTIFIED, REMOVED, REMOVED_FOR, Row

LINK = "https://id.gs1.org/01"
SERIAL, LOT = "21", "10"
Json = dict[str, object]


class Change(NamedTuple):
    """What happens to a part of a unit: the words for it, where, which part, and whether that sat there before."""

    row: Row
    position: str
    part: Part | RemovedPart
    sat: bool = False


def changes(event: Event) -> Iterator[Change]:
    """Give what an event says of parts: what is taken out before what is put in."""
    match event:
        case FilterReplaced() | PartReplaced():
            if event.out is not None and any((event.out.item, event.out.lot, event.out.serial)):
                row = REMOVED._replace(disposition=REMOVED_FOR.get(event.reason, REMOVED.disposition))
                yield Change(row, event.position, event.out, sat=True)
            if event.in_ is not None:
                yield Change(FITTED, event.position, event.in_)
        case PartIdentified():
            yield Change(IDENTIFIED, event.position, event.part)
        case Registered() | Repaired():
            yield from (Change(FITTED, placed.position, placed.part) for placed in event.parts)


def items(event: Event) -> set[str]:
    """Name the items of what an event tells."""
    of_stock = {event.item} if isinstance(event, StockEvent) else set()
    return of_stock | {change.part.item for change in changes(event) if change.part.item is not None}


def child(part: Part | RemovedPart, act: Act, names: Names) -> Json:
    """Name a part as the child of its unit."""
    if part.serial is not None:
        return {"childEPCs": [named(part.item, (SERIAL, "serials", part.serial), act, names)]}
    number = None if part.lot is None else (LOT, "lots", part.lot)
    return {"childQuantityList": [{"epcClass": named(part.item, number, act, names), "quantity": 1}]}


def named(item: str | None, number: tuple[str, str, str] | None, act: Act, names: Names) -> str:
    """Name one of an item, or its class, by a number: its identifier of GS1, our word for it, and its value."""
    gtin = act.gtins.get(item or "")
    if gtin is not None and number is None:
        return f"{LINK}/{gtin.zfill(14)}"
    if gtin is not None and number is not None and _fits(number[0], number[2], act):
        return f"{LINK}/{gtin.zfill(14)}/{number[0]}/{quote(number[2], safe='')}"
    return names.thing(*(("items", item) if item else ()), *(number[1:] if number else ()))


def _fits(identifier: str, value: str, act: Act) -> bool:
    """Say whether a value is one that GS1 knows for the identifier."""
    try:
        only(identifier, value, act.at.date())
    except Unreadable:
        return False
    return True


def told(position: str, part: Part | RemovedPart) -> Json:
    """Tell what a part's name does not say."""
    expires = part.expires if isinstance(part, Part) else None
    known = {"position": position, "item": part.item, "lot": part.lot, "serial": part.serial, "expires": expires}
    return {own(name): value for name, value in known.items() if value is not None}
