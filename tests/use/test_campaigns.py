"""Campaigns as they are recorded and asked about, against the oracle: random openings, drills and closings."""

from dataclasses import replace
from random import Random

import msgspec
import pytest

from service import recalls
from service.ledger import Ledger
from tests.domain.test_agreement_on_campaigns import TAGS, random_log
from tests.domain.units import at
from tests.oracle.campaigns import Codes, asks, closed_at, left_out, opened, reasons
from tests.oracle.clock import iso
from tests.oracle.firm import FIRM
from tests.oracle.posting import log
from tests.oracle.record import Record
from tests.oracle.world import World
from tests.use.posting import caller_of, log_of, post
from tests.use.test_recalls import hood
from tests.use.test_waiting import named

OFFICE = caller_of("office")


def left(records: list[Record], closing: Record, told: Codes) -> set[str]:
    """Name the units that a closing leaves without a reason: both are under whatever asks something of units."""
    world, recall = World(records[: closing.seq - 1], [], None), closing.message["recall"]
    at = world.posted_at(closing)
    if not any(asks(one) for one in opened(world, recall, at, told)):
        return set()
    named = {one["asset"] for one in closing.message.get("outstanding") or []}
    return {*TAGS} - named - {tag for _, tag in reasons(world, recall, at, told)}


@pytest.mark.parametrize("seed", range(20))
async def test_recalls_end_and_rehearsals_are_told_as_the_oracle_says(ledger: Ledger, seed: int) -> None:
    """With the conflicts that closings are answered with, as of every hour; each by the reasons given so far."""
    await post(ledger, named([*FIRM, *hood("H-1", "L-9"), *hood("H-2", None)], 500))
    said = [*random_log(Random(seed))]  # noqa: S311 - guards nothing
    receipts = await post(ledger, [replace(one, message=its.message) for one, its in zip(said, log(said), strict=True)])
    told = {
        str(one.id): {conflict.code: conflict.assets for conflict in one.conflicts}
        for one in receipts
        if one.outcome is not None
    }
    records = await log_of(ledger)
    openings = {one.id for one in records if one.kind == "recall-opened"}
    assert {name for name in openings if told[name]} == left_out(records)
    assert all(told[name].keys() == {"rehearsal-left-out"} for name in left_out(records))

    for closing in (one for one in records if one.kind == "recall-closed"):
        assert set(told[closing.id].get("units-outstanding", ())) == left(records, closing, told)

    world = World(records, [], None)
    for hours in (*range(10), 200):
        page = await recalls.listed(ledger, OFFICE, as_at=at(hours), known_at=None, after=None, limit=9)
        ours = {one["recall"]: one["closed_at"] for one in msgspec.to_builtins(page.items)}
        assert ours == {name: iso(closed_at(world, name, at(hours), told)) for name in ours}
