"""Swaps: the serial numbers of parts that are put in and taken out, by which components are followed (R51).

A component may turn up in any unit of the firm, so what tells of one and what tells of such a swap hang together,
whichever is recorded first: each asks for the other (`hangs_on`), and each brings what the other asked for (`brings`).
"""

from service.domain.event import Event
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.label import normal


def serials_moved(event: Event) -> set[str]:
    """Name the serials of parts that an event puts in or takes out, as they are compared."""
    if not isinstance(event, FilterReplaced | PartReplaced):
        return set()
    return {normal(part.serial) for part in (event.in_, event.out) if part is not None and part.serial is not None}


def component_told(event: Event) -> str | None:
    """Give the serial of the component that an event registers, as it is compared."""
    return normal(event.serial) if isinstance(event, Registered) and event.fitted_to is not None else None


def hangs_on(event: Event) -> set[str]:
    """Name what an event asks for: a swap for a component of the serial, a component for swaps of its own."""
    serial = component_told(event)
    return {_component(moved) for moved in serials_moved(event)} | (set() if serial is None else {_swap(serial)})


def brings(event: Event) -> set[str]:
    """Name what others may have asked for that an event brings."""
    serial = component_told(event)
    return {_swap(moved) for moved in serials_moved(event)} | (set() if serial is None else {_component(serial)})


def _component(serial: str) -> str:
    return f"component:{serial}"


def _swap(serial: str) -> str:
    return f"swap:{serial}"
