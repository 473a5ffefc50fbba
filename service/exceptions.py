"""Exceptions: what a manager must look at, by report, as of one moment and with what had been recorded by another."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from uuid import UUID

from msgspec.structs import replace

from service.assessing import report_page
from service.assessing.exceptions import Wanted
from service.assessing.moment import asked
from service.assessing.places import Places, sites_of
from service.domain.caller import Caller
from service.domain.conflict import Conflict
from service.domain.errors import NotFound
from service.domain.kinds.exception_acknowledged import ExceptionAcknowledged
from service.ledger import Ledger
from service.page import Page
from service.recording.incoming import Read
from service.reports import REPORTS

REPORT = "report"
NO_SUCH_ROW = Conflict("no-such-row")


async def counted(
    ledger: Ledger, caller: Caller, *, as_at: datetime | None, known_at: datetime | None, wanted: Wanted
) -> dict[str, object]:
    """Count the rows of every exception report by site."""
    async with asked(ledger, caller, as_at, known_at) as question:
        within = replace(wanted, sites=sites_of(question, caller, Places(site=wanted.site)))
        return await report_page.overview(question, REPORTS, within)


async def listed(
    ledger: Ledger,
    caller: Caller,
    name: str,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    wanted: Wanted,
    after: str | None,
    limit: int,
) -> Page:
    """List the rows of an exception report, newest first. Raises NotFound."""
    report = next((one for one in REPORTS if one.name == name), None)
    if report is None:
        raise NotFound(REPORT, f"the reports are {', '.join(one.name for one in REPORTS)}")
    async with asked(ledger, caller, as_at, known_at) as question:
        within = replace(wanted, sites=sites_of(question, caller, Places(site=wanted.site)))
        return await report_page.page(question, report, within, after, limit)


async def compared(ledger: Ledger, caller: Caller, reads: Sequence[Read]) -> list[Read]:
    """Compare acknowledgements with the reports as they are now: one of no row that the key reaches is contradicted.

    It is recorded all the same: what it is about may still be on its way.
    """
    events = [one.event for one in reads if isinstance(one.event, ExceptionAcknowledged)]
    if not events:
        return list(reads)
    async with asked(ledger, caller) as question:
        rows = {
            report.name: await report_page.found(question, report, Wanted(sites=caller.sites, named=names))
            for report in REPORTS
            if (names := frozenset(_names(event.row for event in events if event.report == report.name)))
        }
    return [
        one.contradicted(NO_SUCH_ROW)
        if isinstance(one.event, ExceptionAcknowledged) and one.event.row not in rows.get(one.event.report, ())
        else one
        for one in reads
    ]


def _names(rows: Iterable[str]) -> Iterator[UUID]:
    """Read the names that rows may have."""
    for row in rows:
        try:
            yield UUID(row)
        except ValueError:
            continue
