"""A rebuild from the log alone equals what was written event by event, to the byte."""

from collections.abc import Awaitable, Callable, Iterator
from dataclasses import replace
from itertools import count
from random import Random
from typing import Any
from uuid import uuid4

import pytest
from psycopg import AsyncConnection

from service.ledger import Ledger
from service.rebuild import differences, rebuild
from service.record import Receipt
from service.store.connecting import connect
from service.store.dump_derived import DUMPS, dump_derived
from service.store.scope import set_organisation
from tests.oracle.firm import FIRM, check, issue, register, site, tell
from tests.oracle.histories import random_history
from tests.oracle.posting import MINUTE, Posted, moment, say
from tests.use.posting import ORGANISATION, post, post_together
from tests.use.rebuilt import silent
from tests.use.test_waiting import named, unit

ISSUE = "0198c1f2-7a10-7c3e-9b55-000000000003"


@pytest.mark.parametrize("seed", range(6))
async def test_a_rebuild_of_a_random_history_changes_nothing(seed: int, ledger: Ledger, owner_url: str) -> None:
    """Whatever was posted, late, doubled, voided or in a wrong order, a rebuild finds every derived row as it is."""
    receipts = await post(ledger, random_history(seed, 120).posted)
    assert sum(receipt.outcome == "recorded" for receipt in receipts) > 60
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []


async def derived(conn: AsyncConnection) -> dict[str, list[tuple[str, str]]]:
    """Give the rows of every derived table."""
    return {table: [row async for row in dump_derived(conn, ORGANISATION, table)] for table in DUMPS}


async def test_a_rebuild_into_nothing_gives_the_same_rows(ledger: Ledger, owner_url: str) -> None:
    """With every derived row gone, a rebuild brings all of them back as they were."""
    await post(ledger, random_history(41, 120).posted)
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        before = await derived(owner)
        await rebuild(owner, ORGANISATION, silent)
        assert await derived(owner) == before


@pytest.mark.parametrize(("seed", "length", "size"), [(7, 150, 25), (2160, 90, 12)])
async def test_batches_and_single_posts_mean_the_same(
    seed: int, length: int, size: int, ledger: Ledger, owner_url: str
) -> None:
    """What is posted in batches is derived as a rebuild derives it.

    In the second an item is defined anew that sits in a unit on its way, of which no rule asks for it then.
    """
    posted = random_history(seed, length).posted
    for start in range(0, len(posted), size):
        together = [one for one in posted[start : start + size] if one.key == posted[start].key]
        await post_together(ledger, together)
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []


async def test_a_late_event_among_others_keeps_every_use(ledger: Ledger, owner_url: str) -> None:
    """Posted after a week without news, a check of the past and one of now leave the uses between as they are."""
    await post(
        ledger,
        [*named(FIRM), unit(), say("issued", "2026-03-02 07:00", id=ISSUE, asset="W-1", holder={"person": "p-1"})],
    )
    days = ("2026-03-11", "2026-03-06", "2026-03-12")
    passes = {"airflow": "pass", "alarm": "pass", "battery": "pass"}
    checks = [
        say("checked", f"{day} 07:30", asset="W-1", points=passes, wearer="p-1", received="2026-03-12 09:00")
        for day in days
    ]
    stamped = [replace(one, message={"id": str(uuid4()), **one.message}) for one in checks]
    await post_together(ledger, stamped)
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []


async def test_runs_of_a_batch_are_folded_on_one_after_the_other(ledger: Ledger, owner_url: str) -> None:
    """A late event in the midst of a batch, and what follows it in order, leave the rows that a rebuild writes."""
    await post(ledger, named([*FIRM, unit()]))
    told = [
        check("2026-03-03 06:00", tag="W-1"),
        issue("2026-03-03 06:05", tag="W-1"),
        check("2026-03-02 06:30", tag="W-1"),
        issue("2026-03-02 06:35", tag="W-1"),
        check("2026-03-04 06:00", tag="W-1"),
        tell("returned", "2026-03-05 12:00", tag="W-1"),
    ]
    batch = [replace(one, received_at=moment("2026-03-05 12:30"), sent_at=None) for one in told]
    receipts = await post_together(ledger, named(batch, 200))
    assert [receipt.status for receipt in receipts] == [201] * 6
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []


async def test_what_was_asked_of_a_time_that_never_came_is_forgotten(ledger: Ledger, owner_url: str) -> None:
    """A unit that is at another site at the very instant of its registration never depended on the site it named."""
    await post(ledger, [*named(FIRM), unit()])
    moved = say("returned", "2026-03-02 06:00", asset="W-1", site="mesa", id="0198c1f2-7a10-7c3e-9b55-000000000777")
    [receipt] = await post(ledger, [moved])
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert receipt.status == 201
        assert await differences(owner, ORGANISATION, silent) == []


DAYS: dict[str, dict[str, Any]] = {
    "worn": {"wearer": "p-1"},
    "checked": {"wearer": "p-1", "points": {"alarm": "fail"}},
    "failed-in-use": {"wearer": "p-1", "signs": ["fan-stopped"]},
    "quarantined": {"reason": "damage"},
}


@pytest.mark.parametrize("kind", DAYS)
@pytest.mark.parametrize("late", ["the day", "the place"])
@pytest.mark.parametrize("before", [[], [tell("retired", "2026-03-02 12:00", tag="W-1", reason="obsolete")]])
async def test_a_day_ends_where_the_unit_is(
    kind: str, late: str, before: list[Posted], ledger: Ledger, owner_url: str
) -> None:
    """In the east that is before it ends in UTC, be the place or what names none told last."""
    day = tell(kind, "2026-03-04", tag="W-1", **DAYS[kind])
    east = say("stationed", "2026-03-03 20:00", asset="W-1", place="bay", site="east")
    told = [*before, check("2026-03-06 08:00", tag="W-1"), *([east, day] if late == "the day" else [day, east])]
    posted = named(
        [replace(one, received_at=moment(f"2026-03-{nth:02d} 08:00")) for nth, one in enumerate(told, 6)], 90
    )
    await post(ledger, [*named([*FIRM, site("east", "uk", "Asia/Kolkata")]), unit(), *posted])
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []


async def test_parts_that_change_often_and_are_told_late_stay_as_a_rebuild_tells_it(
    ledger: Ledger, owner_url: str
) -> None:
    """Forty changes of a filter in a random order, some of them taken back, and a new tag among them."""
    random = Random(5)  # noqa: S311 - guards nothing
    told = [
        tell("filter-replaced", f"2026-03-{2 + hour // 8:02d} {8 + hour % 8:02d}:00", tag="W-1", reason="loading",
             position="particle-filter", in_={"item": "p3", "lot": f"L-{hour % 3}", "condition": "new"})
        for hour in range(40)
    ]  # fmt: skip
    random.shuffle(told)
    late = [replace(one, received_at=moment("2026-03-09 08:00") + MINUTE * nth) for nth, one in enumerate(told)]
    swaps = named([replace(one, sent_at=one.received_at) for one in late], 100)
    retagged = tell("retagged", "2026-03-04 11:30", tag="W-1", new_tag="W-2")
    voids = [say("voided", "2026-03-10 08:00", "p-2", event=one.message["id"], reason="wrong") for one in swaps[::7]]
    receipts = await post(ledger, [*named(FIRM), unit(), *swaps[:20], *named([retagged], 90), *swaps[20:]])
    receipts += await post(ledger, named(voids, 200))
    assert {receipt.status for receipt in receipts} == {201}
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []
        found = await (await owner.execute("SELECT count(*) FROM ledger.stay WHERE item = 'p3'")).fetchone()
    assert found == (34,)


async def test_parts_that_come_and_go_on_one_day_stay_as_a_rebuild_tells_it(ledger: Ledger, owner_url: str) -> None:
    """Swaps and names of three days that they state alone, told in a random order, some of them taken back later."""
    random = Random(6)  # noqa: S311 - guards nothing
    there = {"tag": "W-1", "site": "dock", "position": "particle-filter"}
    given = [(f"2026-03-{3 + nth % 3:02d}", {"item": "p3", "lot": f"L-{nth}", "condition": "new"}) for nth in range(18)]
    told = [
        tell("part-identified", day, part=part, **there) if nth % 6 == 0
        else tell("filter-replaced", day, reason="loading", in_=part, out={"lot": f"L-{nth + 20}"}, **there)
        for nth, (day, part) in enumerate(given)
    ]  # fmt: skip
    random.shuffle(told)
    late = [replace(one, received_at=moment("2026-03-09 08:00") + MINUTE * nth) for nth, one in enumerate(told)]
    swaps = named([replace(one, sent_at=one.received_at) for one in late], 100)
    voids = [say("voided", "2026-03-10 08:00", "p-2", event=one.message["id"], reason="wrong") for one in swaps[::7]]
    receipts = await post(ledger, [*named(FIRM), unit()])
    for after in ([*swaps[:9]], [*swaps[9:]], named(voids, 200)):
        receipts += await post(ledger, after)
        async with await connect(owner_url) as owner, owner.transaction():
            await set_organisation(owner, ORGANISATION)
            assert await differences(owner, ORGANISATION, silent) == []
    assert {receipt.status for receipt in receipts} == {201}


def at_once(random: Random) -> Iterator[Posted]:
    """Let much be said of a unit and its parts at a few moments, or by their days alone."""
    moments = ["2026-03-03 08:00", "2026-03-03 09:00", "2026-03-03", "2026-03-04"]
    for nth in range(60):
        at, site = random.choice(moments), random.choice(["dock", "works"])
        new = {"item": "p3", "lot": f"L-{nth}", "condition": "new"}
        there: dict[str, Any] = {"tag": "W-1", "site": site}
        given: dict[str, dict[str, Any]] = {
            "issued": {"holder": {"person": f"p-{nth % 3}"}},
            "returned": {},
            "stationed": {"place": "cab-1"},
            "sent-to-service": {"provider": "bench"},
            "moved": {"to_site": "works"},
            "received": {},
            "missing": {},
            "found": {},
            "quarantined": {"reason": "other", "place": "cage"},
            "filter-replaced": {"reason": "loading", "position": "particle-filter", "in_": new},
            "part-replaced": {"reason": "damage", "position": "particle-filter", "out": {}},
        }
        kind = random.choice([*given, "issued", "stationed"])
        yield tell(kind, at, **there, **given[kind])


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("send", [post, post_together])
async def test_what_is_said_at_one_moment_is_stored_as_a_rebuild_tells_it(
    seed: int, send: Callable[[Ledger, list[Posted]], Awaitable[list[Receipt]]], ledger: Ledger, owner_url: str
) -> None:
    """Whoever had a unit for no time never had it, though that was stored while it was not known."""
    random = Random(seed)  # noqa: S311 - guards nothing
    registered = random.choice(["2026-03-02 08:00", "2026-03-03 08:00", "2026-03-03", "2026-03-03 09:00"])
    received = (moment("2026-03-09 08:00") + MINUTE * nth for nth in count())
    told = [replace(one, received_at=at, sent_at=at) for one, at in zip(at_once(random), received, strict=False)]
    receipts = await post(ledger, named([*FIRM, register(registered, tag="W-1")]))
    for nth in range(0, len(told), 6):
        receipts += await send(ledger, named(told[nth : nth + 6], 100 + nth))
        async with await connect(owner_url) as owner, owner.transaction():
            await set_organisation(owner, ORGANISATION)
            assert await differences(owner, ORGANISATION, silent) == []
    assert [one.problem for one in receipts if one.problem is not None] == []
