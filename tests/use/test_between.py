"""What another process records between two steps of ours: at the very moment that would be missed."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from service.domain import marking
from service.ledger import Ledger
from service.recording import attempt, keeping, receipts
from service.store.connecting import connect, make_pool
from service.store.scope import set_organisation
from tests.oracle import firm as plain
from tests.oracle.firm import FIRM, PLAIN, examine, issue, register, tell, wear
from tests.oracle.posting import Posted, moment, say
from tests.use.conftest import NOW
from tests.use.posting import ORGANISATION, post, post_together
from tests.use.test_marks import differing, washed
from tests.use.test_waiting import check, named, unit

Before = Callable[[ModuleType, str, list[Posted]], list[str]]


@pytest.fixture
async def before(app_url: str, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Before]:
    """Have a rival record something before ours takes a step for the first time; in the end it must have come to that.

    The step is a function of a module, by its name; what is given back grows each time it is taken.
    """
    waiting: list[list[Posted]] = []
    async with make_pool(app_url, 2) as pool:
        rival = Ledger(pool=pool, clock=lambda: NOW)

        def interposed(module: ModuleType, name: str, said: list[Posted]) -> list[str]:
            step: Callable[..., Awaitable[Any]] = getattr(module, name)
            steps: list[str] = []
            waiting.append(said)

            async def taken(*given: Any) -> Any:
                steps.append(name)
                if waiting:
                    await post(rival, waiting.pop())
                return await step(*given)

            monkeypatch.setattr(module, name, taken)
            return steps

        yield interposed
    assert waiting == []


async def open_messages(owner_url: str) -> int:
    """Count the messages that are kept and open."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        found = await owner.execute("SELECT count(*) FROM ledger.rejected_message WHERE state = 'open'")
        [count] = await found.fetchone() or [None]
    return int(count or 0)


async def test_what_comes_as_its_message_is_kept_has_it_accepted(
    ledger: Ledger, owner_url: str, before: Before
) -> None:
    """A message whose unit is registered while it is being kept is decided again, and no neighbour of it waits."""
    await post(ledger, named([*PLAIN, register()]))
    before(receipts, "keep", [unit()])
    fine = named([tell("cleaned", f"2026-01-05 {hour}:00", scope="unit", method="wiped") for hour in (10, 11)], 700)
    told = await asyncio.gather(*(post(ledger, [one]) for one in (*fine, check())))

    assert [receipt.status for [receipt] in told] == [201, 201, 201]
    assert await open_messages(owner_url) == 0
    assert await differing(owner_url) == []


async def test_a_report_is_folded_with_what_is_known_by_then(ledger: Ledger, owner_url: str, before: Before) -> None:
    """A competence that ends while a refused report of a failure is being kept counts for its unit."""
    checked = plain.check("2026-01-05 10:05")
    history = [register(), examine("2026-01-05 09:00"), issue("2026-01-05 10:00"), checked, wear("2026-01-05 13:00")]
    await post(ledger, named([*PLAIN, *history]))
    end: dict[str, Any] = {"received": "2026-01-05 11:00", "person": "ex-1", "of": "examine"}
    before(keeping, "lock_kins", named([say("authorisation-ended", "2026-01-05 08:30", "adm", **end)], 900))
    failed = tell("failed-in-use", "2026-01-05 18:00", signs=["fan-stopped"], received="2026-01-05 12:00")
    [receipt] = await post(ledger, named([failed], 950))

    assert (receipt.status, receipt.problem is not None and receipt.problem.code) == (422, "in-the-future")
    assert await differing(owner_url) == []


async def test_who_comes_to_wait_again_is_seen(ledger: Ledger, owner_url: str, before: Before) -> None:
    """A kept message that comes again, and waits now for what is just being recorded, is looked at before that is.

    By its first receipt it was of the future, and so it stays open.
    """
    await post(ledger, named(FIRM))
    early = moment("2026-03-02 06:10")
    [refused] = await post(ledger, [replace(check(), received_at=early, sent_at=early)])
    assert refused.problem is not None
    assert refused.problem.code == "in-the-future"
    writes = before(attempt, "write", [check()])
    [receipt] = await post(ledger, [unit()])

    assert receipt.status == 201
    assert writes == ["write"] * 3  # ours, theirs, and ours once more
    assert await open_messages(owner_url) == 1


async def test_a_unit_merged_meanwhile_is_folded_again(
    ledger: Ledger, owner_url: str, before: Before, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A part that is fitted to the unit while a late event of it is being folded does no harm."""
    monkeypatch.setattr(marking, "EVERY", 2)
    await post(ledger, named([*FIRM, unit()]))
    await post_together(ledger, [washed(minute) for minute in range(40)])
    pack: dict[str, Any] = {"asset": "B-1", "model": "pack", "serial": "S-9", "site": "dock", "fitted_to": "W-1"}
    before(attempt, "load_from_mark", named([say("registered", "2026-03-02 06:05", "adm", **pack)], 900))
    [receipt] = await post(ledger, [washed(5.5, "2026-03-02 21:00")])

    assert receipt.status == 201
    assert await differing(owner_url) == []
