"""Findings: what a history shows that a manager must look at. The closed list of reports, and what the fold tells.

What may live here: the names of the reports, and the findings that one event alone makes where it takes its place. Uses
make findings too; they carry what is found of them themselves (`Use`).
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec

from service.domain.conflict import Contradiction
from service.domain.facts import Fact
from service.domain.unit import Unit

REPORTS: Final[dict[str, str]] = {
    "rejected-reports": "reports of a failure that could not be accepted and are not resolved",
    "used-while-not-to-be-used": "uses of a unit that was not to be used",
    "used-without-check": "uses outside the cover of a complete passing check",
    "passed-against-readings": "checks and examinations said to have passed, against their own readings",
    "overdue-examination": "units in use whose thorough examination is past its due date",
    "expired-stock": "stock past its last day that is still there",
    "stock-below-nothing": "stock of which more was taken than was ever told of, not yet explained",
    "ordered-without-approval": "orders beyond what was approved, and beyond what needs no approval",
    "order-without-proposal": "orders for a proposal that nobody knows at the sites of their sender",
    "ordered-twice": "proposals for which more than one order was placed",
    "order-overdue": "orders that have not come in whole by the day they were expected",
    "approved-not-ordered": "approvals that no order followed in as long as one takes to come",
    "ordered-in-another-unit": "orders and receipts for them in another unit than their item is counted in",
    "received-without-order": "receipts for an order that nobody placed for their site",
    "conflicting-history": "events that contradict the history",
}
"""The exception reports in the order of urgency, and what each lists. A name is never taken away: the log has it."""

AGAINST_READINGS: Final = "passed-against-readings"
CONFLICTING: Final = "conflicting-history"


class Finding(msgspec.Struct, frozen=True):
    """Something found of one event: in which report it belongs, when and where the event was, and whose it is.

    `reasons` are words from the closed lists: codes of conflicts, and what these name.
    """

    at: datetime
    report: str
    event: UUID
    site: str
    person: str
    reasons: tuple[str, ...]


def found_in(fact: Fact, before: Unit, after: Unit, conflicts: Sequence[Contradiction]) -> Iterator[Finding]:
    """Give what is found of a fact, as the unit was before it and is after it."""
    event = fact.event
    site = event.site or before.site
    if conflicts:
        yield Finding(fact.at, CONFLICTING, event.id, site, event.by, words(conflicts))
    counted_as_failure = bool(after.failed) and after.failed[-1].event == event.id
    if counted_as_failure and not fact.echo and event.claims_to_pass():
        yield Finding(fact.at, AGAINST_READINGS, event.id, site, event.by, (AGAINST_READINGS,))


def words(conflicts: Iterable[Contradiction]) -> tuple[str, ...]:
    """Name the conflicts of one event, each followed by what it names."""
    told = sorted((found.conflict.code, found.conflict.reasons) for found in conflicts)
    return tuple(dict.fromkeys(word for code, reasons in told for word in (code, *reasons)))


def joined(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put the findings of a unit in order, those of one event and report as one."""
    told: dict[tuple[datetime, str, UUID], Finding] = {}
    for one in sorted(findings, key=lambda one: (one.at, one.report, one.event)):
        key = (one.at, one.report, one.event)
        known = told.get(key)
        reasons = one.reasons if known is None else tuple(dict.fromkeys((*known.reasons, *one.reasons)))
        told[key] = msgspec.structs.replace(one, reasons=reasons)
    return tuple(told.values())
