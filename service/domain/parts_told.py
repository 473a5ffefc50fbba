"""Parts told of: what an event says is in a unit from then on."""

from collections.abc import Iterator

from service.domain.event import Event
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.repaired import Repaired
from service.domain.part import Part


def parts_of(event: Event) -> Iterator[Part]:
    """Give the parts that an event says are in a unit from then on."""
    match event:
        case Registered() | Repaired():
            yield from (placed.part for placed in event.parts)
        case FilterReplaced() | PartReplaced():
            yield from [event.in_] if event.in_ is not None else ()
        case PartIdentified():
            yield event.part
