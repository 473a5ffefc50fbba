"""Once apart: whether more may have been known to sit in a unit than its registrations tell, one by one.

It is said by all that is on record of a kin, what was taken back too: what was known at a moment is asked for later,
and a recall must not lose a unit by what is said of it since. Nor by what is said of a zone, or of where the unit was:
a day alone may have been known to end as early and as late as it does anywhere. One day at one site ends at once,
whatever its zone; of two the later may once have been known to end first, since a site may change its zone between.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, time, timedelta
from typing import Final

from service.domain.event import Event
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.repaired import Repaired
from service.domain.recorded import Recorded
from service.domain.unit import Unit

CHANGES: Final = (FilterReplaced, PartIdentified, PartReplaced, Repaired)
"""What changes parts."""
EARLIEST: Final = timedelta(hours=9)
"""A day ends no sooner than so long after it began in UTC: no zone is more than 15 hours ahead of that."""
LATEST: Final = timedelta(hours=37)
"""It ends no later than so long after that: no zone is more than 13 hours behind."""


def once_apart(rows: Iterable[Recorded]) -> bool:
    """Say whether there are several registrations, or parts may have been changed before the only one."""
    told = [row.event for row in rows if isinstance(row.event, (*CHANGES, Registered))]
    registered = [event for event in told if isinstance(event, Registered)]
    if len(registered) != 1:
        return bool(registered)
    return any(isinstance(event, CHANGES) and _may_precede(event, registered[0]) for event in told)


def may_be_before(event: Event, unit: Unit) -> bool:
    """Say whether an event may have been known to change parts before a unit was registered: rather yes than no.

    The day that a registration states is known to the unit by where it is known to end alone.
    """
    spread = LATEST - EARLIEST if unit.by_day else timedelta()
    return isinstance(event, CHANGES) and _within(event)[0] < unit.registered_at + spread


def _may_precede(event: Event, registered: Registered) -> bool:
    if event.occurred_on is not None and (event.occurred_on, event.site) == (registered.occurred_on, registered.site):
        return False
    return _within(event)[0] < _within(registered)[1]


def _within(event: Event) -> tuple[datetime, datetime]:
    """Give the moments from and to which good news may be known to count."""
    if event.occurred_at is not None:
        return event.occurred_at, event.occurred_at
    begins = datetime.combine(event.earliest_day(), time(), UTC)
    return begins + EARLIEST, begins + LATEST
