"""The exception reports: they list what the oracle finds, and the same again when asked by the moments they named."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

import msgspec
import pytest

from service import exceptions
from service.assessing.exceptions import Wanted
from service.domain.conflict import CODES
from service.domain.errors import BadCursor
from service.domain.intervals import MOMENT
from service.ledger import Ledger
from tests.oracle.findings import Found, findings
from tests.oracle.histories import random_history
from tests.oracle.world import World
from tests.use.posting import caller_of, log_of, post
from tests.use.test_summary import reports_of

OFFICE = caller_of("office")
TOLD_BY_THE_FOLD = (
    "used-without-check", "used-while-not-to-be-used", "passed-against-readings", "conflicting-history",
)  # fmt: skip
EVERY = ("rejected-reports", *TOLD_BY_THE_FOLD, "overdue-examination")


async def listed(
    ledger: Ledger, report: str, as_at: datetime, known_at: datetime | None = None, limit: int = 7
) -> list[dict[str, Any]]:
    """Read all rows of a report, page by page, as HTTP writes them."""
    rows: list[dict[str, Any]] = []
    after: str | None = None
    while not rows or after is not None:
        page = await exceptions.listed(
            ledger, OFFICE, report, as_at=as_at, known_at=known_at, wanted=Wanted(), after=after, limit=limit
        )
        after = page.next
        rows += msgspec.json.decode(msgspec.json.encode(page.items))
        if not page.items:
            break
    return rows


async def counted(ledger: Ledger, as_at: datetime, known_at: datetime | None = None) -> dict[str, Any]:
    """Count every report, as HTTP writes it."""
    found = await exceptions.counted(ledger, OFFICE, as_at=as_at, known_at=known_at, wanted=Wanted())
    told: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(found))
    return told


def as_found(report: str, rows: Iterable[dict[str, Any]], world: World) -> list[Found]:
    """Give the rows about units in the oracle's form; what belongs to a voiding has no story there."""
    events = {record.id for record in world.known}
    return sorted(
        (
            Found(
                report,
                datetime.fromisoformat(row["at"]),
                row["site"],
                row["person"],
                row["row"] if row["row"] in events else None,
                tuple(sorted(word for word in row["reasons"] if word in CODES or report != "conflicting-history")),
            )
            for row in rows
            if row["asset"] is not None and row["row"] not in world.own_voidings
        ),
        key=str,
    )


@pytest.mark.parametrize("seed", [3, 11, 29])
async def test_reports_list_what_the_oracle_finds(seed: int, ledger: Ledger) -> None:
    """Whatever was posted, late, doubled or voided, a report has the rows that follow by definition, counted alike."""
    await post(ledger, random_history(seed, 100).posted)
    world = World(await log_of(ledger), await reports_of(ledger), None)
    last = max(record.received_at for record in world.known)
    for ago in (-20, 0, 9):
        as_at = last - timedelta(days=ago, minutes=7)
        counts = {one["report"]: one["rows"] for one in (await counted(ledger, as_at))["reports"]}
        every = [one for story in world.stories.values() for one in findings(story, as_at + MOMENT)]
        for report in TOLD_BY_THE_FOLD:
            rows = await listed(ledger, report, as_at)
            assert as_found(report, rows, world) == sorted((one for one in every if one.report == report), key=str)
            assert len(rows) == counts[report]
            assert len({row["row"] for row in rows}) == len(rows)


async def test_reports_can_be_asked_again_byte_for_byte(ledger: Ledger) -> None:
    """Whatever is recorded later, rows and counts are the same when asked again with the moments they named."""
    posted = random_history(17, 120).posted
    saved: list[tuple[datetime, datetime, Any]] = []
    for start in range(0, len(posted), 30):
        await post(ledger, posted[start : start + 30])
        as_at = posted[min(start + 29, len(posted) - 1)].received_at
        counts = await counted(ledger, as_at)
        known_at = datetime.fromisoformat(counts["known_at"])
        saved.append((as_at, known_at, (counts, [await listed(ledger, report, as_at) for report in EVERY])))
    for as_at, known_at, told in saved:
        counts = await counted(ledger, as_at, known_at)
        assert (counts, [await listed(ledger, report, as_at, known_at) for report in EVERY]) == told


async def test_a_place_that_no_page_named_is_refused(ledger: Ledger) -> None:
    """Where a page goes on is what the page before it said."""
    with pytest.raises(BadCursor):
        await exceptions.listed(
            ledger, OFFICE, EVERY[0], as_at=None, known_at=None, wanted=Wanted(), after="there", limit=1
        )
