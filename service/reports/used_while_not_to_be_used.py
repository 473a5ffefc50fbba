"""Used while not to be used: a use begun while `do_not_use` held, for other reasons than the want of a check.

The reasons are those before the use itself; what an overdue examination or a withdrawal says is among them.
"""

from functools import partial

from service.assessing.exceptions import Report, Row, Severity
from service.assessing.grounds import forbidden
from service.assessing.stored_exceptions import FORBIDDEN, count_of, rows_of
from service.domain.standing import REASONS


def severity(_row: Row) -> Severity:
    """Say how bad it is."""
    return "high"


def reason(row: Row) -> str:
    """Say what spoke against the use."""
    return f"used although {'; '.join(REASONS[word] for word in row.words)}"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Take the unit out of use, find out who wore it and for which work, and mend what spoke against it."


REPORT = Report(
    name=FORBIDDEN,
    rows=partial(rows_of, FORBIDDEN),
    count=partial(count_of, FORBIDDEN),
    grounds=forbidden,
    severity=severity,
    reason=reason,
    advice=advice,
)
