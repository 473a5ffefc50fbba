"""Reports of failures that cannot be accepted, and what becomes of them (R45)."""

import asyncio
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import timedelta
from functools import partial
from typing import Any
from uuid import UUID

import msgspec
import pytest
from typing_extensions import override

from service import assess
from service.assessing.places import Places
from service.assessing.unit_list import Wanted
from service.domain.errors import AlreadySettled, Forbidden
from service.ledger import Ledger
from service.record import Receipt, record
from service.recording import whole
from service.resolve import dismiss, retry
from tests.oracle.firm import FIRM
from tests.oracle.posting import moment
from tests.use.posting import caller_of, post
from tests.use.test_waiting import named, unit

AT = moment("2026-03-03 08:00")
KIOSK, DESK, LEAD, OFFICE = (caller_of(name) for name in ("kiosk-1", "desk", "lead", "office"))
FAILURE = {
    "id": "0198c1f2-7a10-7c3e-9b55-000000000009",
    "kind": "failed-in-use",
    "asset": "W-1",
    "occurred_at": "2026-03-03T08:00:00+00:00",
    "by": "p-1",
    "signs": ["fan-stopped"],
    "site": "dock",
}


async def reported(ledger: Ledger, **wrong: object) -> Receipt:
    """Report a failure in a form that cannot be accepted."""
    await post(ledger, [*named(FIRM), unit()])
    raw = msgspec.json.encode(FAILURE | wrong)
    return (await record(ledger, KIOSK, [raw], received_at=AT, sent_at=AT))[0]


async def seen(ledger: Ledger) -> dict[str, object]:
    """Give how the unit stands an hour later."""
    return await assess.asset(ledger, OFFICE, "W-1", as_at=AT + timedelta(hours=1), known_at=None)


async def test_a_refused_report_of_a_failure_withdraws_the_unit_at_once(ledger: Ledger) -> None:
    """A report that is malformed makes its unit do-not-use, in its own answer and in the list of a summary."""
    receipt = await reported(ledger, signs=["on-fire"])
    assert (receipt.status, receipt.rejected is not None) == (422, True)
    told = await seen(ledger)
    assert (told["do_not_use"], told["reasons"]) == (True, ("unresolved-report",))
    listed = await assess.assets(ledger, OFFICE, places=Places(site="dock"), wanted=Wanted(), after=None, limit=10)
    assert [(one["tag"], one["do_not_use"], one["reasons"]) for one in listed.items] == [
        ("W-1", True, ("unresolved-report",))
    ]


class Aside(ThreadPoolExecutor):
    """The threads beside the loop, which tell what they were given to do."""

    def __init__(self) -> None:
        super().__init__(1)
        self.done: list[str] = []

    @override
    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Note what is to be done, and do it."""
        self.done.append(fn.args[0].__name__ if isinstance(fn, partial) else repr(fn))
        return super().submit(fn, *args, **kwargs)


async def test_a_unit_with_a_long_history_is_folded_beside_the_loop(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A refused report of a long history, and its end, keep nobody else waiting while the unit is folded anew."""
    monkeypatch.setattr(whole, "LONG", 1)
    aside = Aside()
    asyncio.get_running_loop().set_default_executor(aside)
    receipt = await reported(ledger, signs=["on-fire"])
    refused = list(aside.done)
    await dismiss(ledger, DESK, receipt.rejected or UUID(int=0), "another unit was meant")

    assert (refused, aside.done) == (["fold_anew"], ["fold_anew"] * 2)


async def test_its_sender_cannot_resolve_it(ledger: Ledger) -> None:
    """Whoever sent the report does not dismiss it; somebody else with authority does, once, and the unit is free."""
    receipt = await reported(ledger, signs=["on-fire"])
    rejected = receipt.rejected or UUID(int=0)
    with pytest.raises(Forbidden):
        await dismiss(ledger, KIOSK, rejected, "it was nothing")
    settled = await dismiss(ledger, DESK, rejected, "tried by the store: another unit was meant")
    assert settled["state"] == "dismissed"
    with pytest.raises(AlreadySettled):
        await dismiss(ledger, DESK, rejected, "again")
    now = await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None)
    assert (now["do_not_use"], now["reasons"]) == (False, ())


async def test_accepted_after_all_it_is_a_failure(ledger: Ledger) -> None:
    """Tried again by another key once it can be accepted, the report ends and the failure itself withdraws the unit."""
    await post(ledger, named(FIRM))
    first = (await record(ledger, KIOSK, [msgspec.json.encode(FAILURE)], received_at=AT, sent_at=AT))[0]
    assert (first.status, first.problem is not None and first.problem.code) == (422, "unknown-reference")
    await post(ledger, [unit()])
    told = await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None)
    assert (told["do_not_use"], told["reasons"]) == (True, ("withdrawal",))
    with pytest.raises(AlreadySettled):
        await retry(ledger, LEAD, first.rejected or UUID(int=0))
