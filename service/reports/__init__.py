"""The exception reports, one file each, listed here in the order of urgency, as `domain.finding.REPORTS` names them.

To add one: its file, its line here and there, and a test. What only the fold can tell is told there (`Finding`, or a
member of `Use`), stored with the unit, and read here; what is found for each question anew is made a report by
`assessing.found_whole`.
"""

from typing import Final

from service.assessing.exceptions import Report
from service.reports import (
    approved_not_ordered,
    conflicting_history,
    expired_stock,
    order_overdue,
    order_without_proposal,
    ordered_in_another_unit,
    ordered_twice,
    ordered_without_approval,
    overdue_examination,
    passed_against_readings,
    received_without_order,
    rejected_reports,
    stock_below_nothing,
    used_while_not_to_be_used,
    used_without_check,
)

REPORTS: Final[tuple[Report, ...]] = (
    rejected_reports.REPORT,
    used_while_not_to_be_used.REPORT,
    used_without_check.REPORT,
    passed_against_readings.REPORT,
    overdue_examination.REPORT,
    expired_stock.REPORT,
    stock_below_nothing.REPORT,
    ordered_without_approval.REPORT,
    order_without_proposal.REPORT,
    ordered_twice.REPORT,
    order_overdue.REPORT,
    approved_not_ordered.REPORT,
    ordered_in_another_unit.REPORT,
    received_without_order.REPORT,
    conflicting_history.REPORT,
)
