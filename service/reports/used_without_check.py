"""Used without check: every use outside the cover of a complete passing check (R17, R18).

A use is what was posted as worn; where the policy counts working days, every working day in issue is one as well.
"""

from functools import partial

from service.assessing.exceptions import Report, Row, Severity
from service.assessing.grounds import use_made
from service.assessing.stored_exceptions import WITHOUT_CHECK, count_of, rows_of
from service.domain.standing import REASONS


def severity(_row: Row) -> Severity:
    """Say how bad it is: somebody breathed through what nobody had looked at."""
    return "high"


def reason(row: Row) -> str:
    """Say what was found."""
    how = "as posted" if row.worn else "counted, as the unit was in issue on a working day"
    return f"{REASONS[WITHOUT_CHECK]} ({how})"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Have the unit checked before its next use, speak with the wearer, and acknowledge this row."


REPORT = Report(
    name=WITHOUT_CHECK,
    rows=partial(rows_of, WITHOUT_CHECK),
    count=partial(count_of, WITHOUT_CHECK),
    grounds=use_made,
    severity=severity,
    reason=reason,
    advice=advice,
)
