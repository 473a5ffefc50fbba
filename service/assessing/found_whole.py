"""Reports whose rows are found whole for each question: those of stock, of orders, and of what was refused."""

from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from uuid import UUID

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.moment import Question

Grounds = Callable[[Question, Sequence[Row]], Awaitable[Mapping[UUID, list[int]]]]


def found_whole(
    name: str,
    every: Callable[[Inquiry], Awaitable[Iterable[Row]]],
    *,
    grounds: Grounds,
    severity: Severity,
    reason: Callable[[Row], str],
    advice: Callable[[Row], str],
) -> Report:
    """Make a report of which `every` finds the rows; those asked for are kept, put in order and counted here."""

    async def kept(inquiry: Inquiry) -> list[Row]:
        return [row for row in await every(inquiry) if inquiry.keeps(name, row)]

    async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
        return newest(await kept(inquiry), before, limit)

    async def count(inquiry: Inquiry) -> list[Count]:
        return counts(inquiry, name, await kept(inquiry))

    def as_bad(_row: Row) -> Severity:
        return severity

    return Report(name=name, rows=rows, count=count, grounds=grounds, severity=as_bad, reason=reason, advice=advice)
