"""How much of refused messages is kept for a key, and what is never lost to that."""

from collections.abc import Mapping
from uuid import UUID

import msgspec
import pytest

from service import assess
from service.domain.errors import NotKept
from service.domain.problem import Problem
from service.ledger import Ledger
from service.record import Receipt, record
from service.recording import quota
from service.recording.quota import BYTES, MESSAGES, Used, told
from service.resolve import dismiss, retry
from tests.oracle.firm import FIRM
from tests.use.posting import caller_of, post
from tests.use.test_reports import AT, DESK, FAILURE, KIOSK, OFFICE, seen
from tests.use.test_waiting import named, unit


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a key have two open messages."""
    monkeypatch.setattr(quota, "MESSAGES", 2)


async def said(ledger: Ledger, *messages: Mapping[str, object]) -> list[Receipt]:
    """Post messages of the kiosk in one call."""
    return await record(ledger, KIOSK, [msgspec.json.encode(one) for one in messages], received_at=AT, sent_at=AT)


def worn(colour: str) -> dict[str, object]:
    """Say something about the unit that is no event, and no bad news."""
    return {"kind": "worn", "asset": "W-1", "site": "dock", "colour": colour}


def test_quota_is_of_messages_and_of_bytes() -> None:
    """Ten thousand open messages or 64 MiB of bodies are the most."""
    assert (MESSAGES, BYTES) == (10_000, 67_108_864)
    assert Used(9_999, 0).room_for(b"12345")
    assert not Used(10_000, 0).room_for(b"12345")
    assert Used(5, 67_108_859).room_for(b"12345")
    assert not Used(5, 67_108_860).room_for(b"12345")
    assert Used(5, 10).and_one(b"12345") == Used(6, 15)


def test_problem_says_what_is_kept() -> None:
    """What is kept whole needs no word; of anything less the problem tells, to people and to programs."""
    problem = Problem(code="malformed", detail="No such field.", members={"waits": True})
    assert told(problem, "whole") == told(problem, "erased") == problem
    assert told(Problem(code="malformed", detail="/colour: no such field here"), "fields").detail == (
        "/colour: no such field here. Medical data stays out: only the names of the message's fields are kept, and "
        "a hash of it."
    )
    assert told(problem, "nothing") == Problem(
        code="malformed",
        detail=(
            "No such field. The message was not kept: 10,000 messages or 64 MiB of this key wait to be settled under "
            "/v1/rejected. Send it again when some of them are settled."
        ),
        members={"waits": True, "kept": "nothing"},
    )


@pytest.mark.usefixtures("narrow")
async def test_past_the_quota_nothing_more_is_kept(ledger: Ledger) -> None:
    """The third open message of a key is refused as ever, not kept, and says so; a repeat of a kept one is counted."""
    await post(ledger, [*named(FIRM), unit()])
    receipts = await said(ledger, worn("red"), worn("green"), worn("red"), worn("blue"))
    assert [receipt.status for receipt in receipts] == [422, 422, 422, 422]
    assert receipts[0].rejected == receipts[2].rejected
    assert [one.rejected is None for one in receipts] == [False, False, False, True]
    assert [one.problem is not None and one.problem.members.get("kept") for one in receipts] == [
        None, None, None, "nothing",
    ]  # fmt: skip
    page = await assess.rejected(ledger, OFFICE, after=None, limit=10, status=None)
    assert sorted(str(one["count"]) for one in page.items) == ["1", "2"]


@pytest.mark.usefixtures("narrow")
async def test_room_comes_back_with_a_settlement(ledger: Ledger) -> None:
    """When one is settled, another is kept again; other keys have room of their own."""
    await post(ledger, [*named(FIRM), unit()])
    first, _, third = await said(ledger, worn("red"), worn("green"), worn("blue"))
    assert third.rejected is None
    other = await record(ledger, DESK, [msgspec.json.encode(worn("blue"))], received_at=AT, sent_at=AT)
    assert other[0].rejected is not None
    await dismiss(ledger, OFFICE, first.rejected or UUID(int=0), "seen")
    assert (await said(ledger, worn("blue")))[0].rejected is not None


@pytest.mark.usefixtures("narrow")
async def test_report_of_a_failure_is_never_lost_to_the_quota(ledger: Ledger) -> None:
    """Past the quota a refused report still withdraws its unit, cannot be tried again, and is dismissed as ever."""
    await post(ledger, [*named(FIRM), unit()])
    receipts = await said(ledger, worn("red"), worn("green"), FAILURE | {"colour": "red"})
    kept = receipts[2].rejected or UUID(int=0)
    problem = receipts[2].problem
    assert problem is not None
    assert problem.members == {"kept": "report"}
    stands = await seen(ledger)
    assert (stands["do_not_use"], stands["reasons"]) == (True, ("unresolved-report",))
    with pytest.raises(NotKept):
        await retry(ledger, DESK, kept)
    assert (await dismiss(ledger, DESK, kept, "seen"))["state"] == "dismissed"
    now = await assess.asset(ledger, OFFICE, "W-1", as_at=None, known_at=None)
    assert now["do_not_use"] is False


async def test_medical_data_is_not_kept(ledger: Ledger) -> None:
    """A clearance with a diagnosis is refused; of it the names of its fields stay, and nothing it said."""
    await post(ledger, named(FIRM))
    message = {"kind": "medically-cleared", "person": "p-7", "by": "p-1", "diagnosis": "a weak heart"}
    receipt = (await record(ledger, caller_of("office"), [msgspec.json.encode(message)], received_at=AT, sent_at=AT))[0]
    assert receipt.problem is not None
    assert receipt.problem.members == {"kept": "fields"}
    assert receipt.problem.detail.endswith("only the names of the message's fields are kept, and a hash of it.")
    shown = await assess.rejected_one(ledger, OFFICE, receipt.rejected or UUID(int=0))
    assert (shown["kept"], shown["body"], shown["fields"]) == (
        "fields", None, ["kind", "person", "by", "diagnosis"],
    )  # fmt: skip
    assert "weak" not in msgspec.json.encode(shown).decode()


async def test_clearance_that_waits_is_kept_whole(ledger: Ledger) -> None:
    """A clearance that is an event is kept as any other: it waits for its site and is accepted when that arrives."""
    message = {
        "id": "0198c1f2-7a10-7c3e-9b55-000000000077",
        "kind": "medically-cleared",
        "occurred_at": "2026-03-02T08:00:00Z",
        "person": "p-7",
        "by": "p-1",
        "site": "dock",
    }
    receipt = (await record(ledger, caller_of("office"), [msgspec.json.encode(message)], received_at=AT, sent_at=AT))[0]
    assert receipt.problem is not None
    assert receipt.problem.code == "unknown-reference"
    await post(ledger, named(FIRM))
    again = await record(ledger, caller_of("office"), [msgspec.json.encode(message)], received_at=AT, sent_at=AT)
    assert again[0].outcome == "repeated"
