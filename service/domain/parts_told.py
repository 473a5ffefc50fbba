"""Parts told of: what an event says is in a unit from then on, and what it says was taken out."""

from collections.abc import Iterator

from service.domain.event import Event
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.repaired import Repaired
from service.domain.part import Part, RemovedPart, turned_out


def parts_of(event: Event) -> Iterator[Part]:
    """Give the parts that an event says are in a unit from then on."""
    match event:
        case Registered() | Repaired():
            yield from (placed.part for placed in event.parts)
        case FilterReplaced() | PartReplaced():
            yield from [event.in_] if event.in_ is not None else ()
        case PartIdentified():
            yield event.part


def removed_by(event: Event) -> Part | None:
    """Give the part that an event says was in a unit until then; without an item of its own it is of that put in."""
    out = taken_out(event)
    if out is None or not isinstance(event, FilterReplaced | PartReplaced):
        return None
    return turned_out(None, out) or (None if event.in_ is None else _of_item(event.in_, out))


def taken_out(event: Event) -> RemovedPart | None:
    """Give what an event says of the part that it took out."""
    return event.out if isinstance(event, FilterReplaced | PartReplaced) else None


def _of_item(put_in: Part, out: RemovedPart) -> Part:
    return Part(item=put_in.item, lot=out.lot, serial=out.serial, condition="refitted")
