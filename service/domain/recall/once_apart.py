"""Once apart: whether more may have been known to sit in a unit than its registrations tell, one by one.

It is said by all that is on record of a kin, what was taken back too: what was known at a moment is asked for later,
and a recall must not lose a unit by what is said of it since.
"""

from collections.abc import Iterable
from typing import Final

from service.domain.facts import instant
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.repaired import Repaired
from service.domain.recorded import Recorded
from service.domain.world import World

CHANGES: Final = (FilterReplaced, PartIdentified, PartReplaced, Repaired)
"""What changes parts."""


def once_apart(rows: Iterable[Recorded], world: World) -> bool:
    """Say whether there are several registrations, or parts were changed before the only one."""
    told = [row.event for row in rows if isinstance(row.event, (*CHANGES, Registered))]
    registered = [instant(event, None, world) for event in told if isinstance(event, Registered)]
    if len(registered) != 1:
        return bool(registered)
    changed = (instant(event, None, world) for event in told if not isinstance(event, Registered))
    return any(at < registered[0] for at in changed)
