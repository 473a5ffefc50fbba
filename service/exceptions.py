"""Exceptions: what a manager must look at, by report, as of one moment and with what had been recorded by another."""

from datetime import datetime

from msgspec.structs import replace

from service.assessing import report_page
from service.assessing.exceptions import Wanted
from service.assessing.moment import asked
from service.assessing.places import Places, sites_of
from service.domain.caller import Caller
from service.domain.errors import NotFound
from service.ledger import Ledger
from service.page import Page
from service.reports import REPORTS

REPORT = "report"


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
        raise NotFound(REPORT)
    async with asked(ledger, caller, as_at, known_at) as question:
        within = replace(wanted, sites=sites_of(question, caller, Places(site=wanted.site)))
        return await report_page.page(question, report, within, after, limit)
