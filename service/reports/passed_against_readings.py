"""Passed against readings: a check or an examination said to have passed whose own readings fail the model's limits.

It counts as failed (design 3.3). An indicator below its mark is such a reading (R19).
"""

from functools import partial

from service.assessing.exceptions import Report, Row, Severity
from service.assessing.grounds import itself
from service.assessing.stored_exceptions import count_of, rows_of
from service.domain.finding import AGAINST_READINGS


def severity(_row: Row) -> Severity:
    """Say how bad it is: whoever reads the result believes in a unit that failed."""
    return "high"


def reason(_row: Row) -> str:
    """Say what was found."""
    return "said to have passed, but its readings fail the limits of the model; it counts as failed"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Repeat the check or the examination, and show whoever did it which limits the model has."


REPORT = Report(
    name=AGAINST_READINGS,
    rows=partial(rows_of, AGAINST_READINGS),
    count=partial(count_of, AGAINST_READINGS),
    grounds=itself,
    severity=severity,
    reason=reason,
    advice=advice,
)
