"""Once apart: whether more may have been known to sit in a unit than its registrations tell, one by one.

It is said by all that is on record of a kin, what was taken back too: what was known at a moment is asked for later,
and a recall must not lose a unit by what is said of it since. Nor by what is said of a zone, or of where the unit was:
a day alone may have been known to end as early and as late as it does anywhere.
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

CHANGES: Final = (FilterReplaced, PartIdentified, PartReplaced, Repaired)
"""What changes parts."""
ENDS: Final = timedelta(days=2)
"""A day ends no earlier than it begins in UTC, and no later than so much after that, whatever its zone."""


def once_apart(rows: Iterable[Recorded]) -> bool:
    """Say whether there are several registrations, or parts may have been changed before the only one."""
    told = [row.event for row in rows if isinstance(row.event, (*CHANGES, Registered))]
    registered = [event for event in told if isinstance(event, Registered)]
    if len(registered) != 1:
        return bool(registered)
    _, latest = _within(registered[0])
    return any(isinstance(event, CHANGES) and _within(event)[0] < latest for event in told)


def may_be_before(event: Event, registered_at: datetime) -> bool:
    """Say whether an event may have been known to change parts before a registration that is known to count then."""
    return isinstance(event, CHANGES) and _within(event)[0] < registered_at + ENDS


def _within(event: Event) -> tuple[datetime, datetime]:
    """Give the moments from and to which good news may be known to count."""
    if event.occurred_at is not None:
        return event.occurred_at, event.occurred_at
    begins = datetime.combine(event.earliest_day(), time(), UTC)
    return begins, begins + ENDS
