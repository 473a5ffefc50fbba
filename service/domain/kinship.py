"""Kinship: the serial numbers by which what is told of units hangs together, whichever of it is recorded first.

Registrations of one serial number may be of one unit where their models were ever said to be of one maker (R13): a
definition may be taken back, or corrected from its beginning, and then be right again. So what hangs together only
grows, and who is who is settled within it. What is told of swaps and components hangs together besides (`swaps`). Each
asks for the other (`hangs_on`), and each brings what the other asked for (`brings`).
"""

from service.domain import swaps
from service.domain.event import Event
from service.domain.kinds.registered import Registered
from service.domain.label import normal
from service.domain.world import World


def hangs_on(event: Event) -> set[str]:
    """Name what an event asks for."""
    own = {serial_ref(event.model, event.serial)} if isinstance(event, Registered) else set()
    return own | swaps.hangs_on(event)


def brings(event: Event, world: World) -> set[str]:
    """Name what others may have asked for that an event brings."""
    told = swaps.brings(event)
    if isinstance(event, Registered):
        told |= {serial_ref(model, event.serial) for model in world.kindred(event.model)}
    return told


def serial_ref(model: str, serial: str) -> str:
    """Name what was registered as a model with a serial number."""
    return f"serial:{model}/{normal(serial)}"
