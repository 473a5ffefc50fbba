"""The summary of all sites: as the oracle counts it, at any moment, as known at any other."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import msgspec
import pytest

from service import assess
from service.assessing.moment import asked
from service.ledger import Ledger
from service.store.failure_reports import failure_reports
from tests.oracle.firm import PLAIN, issue
from tests.oracle.histories import random_history
from tests.oracle.posting import moment, say
from tests.oracle.record import Report
from tests.oracle.summary import summary
from tests.use.posting import ORGANISATION, caller_of, log_of, post
from tests.use.test_waiting import named, unit

OFFICE = caller_of("office")
COUNTED = ("units", "in_scope", "compliant", "rate", "by_standing", "by_phase", "uses", "unit_days")


async def asked_for(ledger: Ledger, as_at: datetime, known_at: datetime | None = None) -> bytes:
    """Ask for the summary of all sites, as HTTP writes it."""
    found = await assess.compliance(ledger, OFFICE, as_at=as_at, known_at=known_at)
    return msgspec.json.encode(found)


async def reports_of(ledger: Ledger) -> list[Report]:
    """Give the reports of failures that could not be accepted, as the oracle takes them."""
    async with asked(ledger, OFFICE) as question:
        found = await failure_reports(question.conn, ORGANISATION, known_at=question.position.now)
    return [Report(one.tag, one.received_at, one.settled_at) for one in found]


def counts(told: dict[str, Any]) -> dict[str, Any]:
    """Give what both sides count."""
    return {name: told["total"][name] for name in COUNTED}


@pytest.mark.parametrize("seed", [3, 11])
async def test_the_summary_counts_as_the_oracle_does(seed: int, ledger: Ledger) -> None:
    """Units, scope, standing, phases, uses and unit-days of the month are those that follow by definition."""
    await post(ledger, random_history(seed, 100).posted)
    records, reports = await log_of(ledger), await reports_of(ledger)
    last = max(record.received_at for record in records)
    for ago in (0, 2, 9, 30):
        as_at = last - timedelta(days=ago, minutes=7)
        told = msgspec.json.decode(await asked_for(ledger, as_at))
        assert counts(told) == counts(summary(records, reports, as_at))


async def test_a_summary_can_be_asked_again_byte_for_byte(ledger: Ledger) -> None:
    """Whatever is recorded later, an answer is the same when asked again with the moments it named."""
    posted = random_history(17, 140).posted
    saved: list[bytes] = []
    for start in range(0, len(posted), 20):
        await post(ledger, posted[start : start + 20])
        saved.append(await asked_for(ledger, posted[min(start + 19, len(posted) - 1)].received_at))
    for body in saved:
        moments = msgspec.json.decode(body)
        as_at, known_at = (datetime.fromisoformat(moments[name]) for name in ("as_at", "known_at"))
        assert await asked_for(ledger, as_at, known_at) == body


async def test_uses_are_those_of_the_model_that_a_unit_is_of_at_the_moment(ledger: Ledger) -> None:
    """Registered as another model on Thursday, those of Monday to Wednesday are a hood's as at Wednesday for good."""
    wednesday, friday = moment("2026-03-04 12:00"), moment("2026-03-06 12:00")
    await post(ledger, named([*PLAIN, unit(), issue("2026-03-02 07:00", tag="W-1")]))
    before = await by_model(ledger, wednesday)
    again = say("registered", "2026-03-05 10:00", asset="W-1", model="pack", serial="S-1", site="dock")
    [receipt] = await post(ledger, named([again], 900))
    assert receipt.status == 201
    assert before == {"hood": 3}
    assert await by_model(ledger, wednesday) == {"hood": 3}
    assert await by_model(ledger, friday) == {"pack": 5}
    late = replace(issue("2026-03-02 06:00", tag="W-1"), received_at=moment("2026-03-07 10:00"))
    known = (await assess.compliance(ledger, OFFICE, as_at=wednesday, known_at=None))["known_at"]
    await post(ledger, named([late], 950))
    assert await by_model(ledger, wednesday, known) == {"hood": 3}


async def by_model(ledger: Ledger, as_at: datetime, known_at: Any = None) -> dict[str, int]:
    """Count the uses by model, where there are any."""
    found = await assess.compliance(ledger, OFFICE, as_at=as_at, known_at=known_at, group_by="model")
    groups = msgspec.json.decode(msgspec.json.encode(found))["groups"]
    return {one["group"]: one["uses"]["of"] for one in groups if one["uses"]["of"]}
