"""Strict handling, and what decisions rest on, among messages that come together."""

from dataclasses import replace
from typing import Any

import msgspec
import pytest

from service.ledger import Ledger
from service.record import record
from service.recording import attempt
from tests.oracle.firm import FIRM, fails, policy
from tests.oracle.posting import moment, say
from tests.use.posting import caller_of, post, post_together
from tests.use.test_marks import differing
from tests.use.test_waiting import check, named, unit


def ident(number: int) -> str:
    """Give the id of a message."""
    return f"0198c1f2-7a10-7c3e-9b58-{number:012d}"


async def test_copies_of_what_is_turned_away_share_its_fate(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """One id many times in an array, which contradicts: all are turned away in one more decision, not one each."""
    await post(ledger, [*named(FIRM), unit()])
    decided: list[int] = []
    plain = attempt.decided

    async def counted(*given: Any) -> Any:
        decided.append(len(given[-1]))
        return await plain(*given)

    monkeypatch.setattr(attempt, "decided", counted)
    body = msgspec.json.encode(say("returned", "2026-03-02 07:00", asset="W-1", id=ident(9)).message)
    receipts = await record(
        ledger, caller_of("office"), [body] * 60, received_at=moment("2026-03-02 07:01"), sent_at=None, strict=True
    )

    assert {receipt.status for receipt in receipts} == {409}
    assert decided == [60, 60]


async def test_what_waits_goes_on_waiting_though_it_comes_again_strictly(ledger: Ledger) -> None:
    """Its sender was told that it is accepted when what is missing arrives; so it is."""
    await post(ledger, named(FIRM))
    message = check()
    body = msgspec.json.encode(message.message)
    for strict in (False, True):
        [told] = await record(
            ledger, caller_of("office"), [body], received_at=message.received_at, sent_at=None, strict=strict
        )
        assert told.status == 422
    await post(ledger, [unit()])
    [again] = await post(ledger, [message])
    assert again.outcome == "repeated"


async def test_a_voided_policy_bears_on_what_comes_with_its_voiding(ledger: Ledger, owner_url: str) -> None:
    """Bad news that only the voided policy spared its echo is judged without the policy, at once and in a rebuild."""
    given = named([*FIRM, replace(policy("clock", {"tolerance": "PT1H"}))])
    first = say("cleaned", "2026-03-02 08:00", asset="W-1", scope="unit", method="wiped", id=ident(1), device="k",
                device_seq=2)  # fmt: skip
    await post(ledger, [*given, unit(), first])
    together: dict[str, Any] = {"received": "2026-03-02 09:00", "key": "desk"}
    void = say(
        "voided", "2026-03-02 08:30", "m-1", event=given[-1].message["id"], reason="wrong", id=ident(2), **together
    )
    bad = say("failed-check", "2026-03-02 08:20", asset="W-1", points=fails("alarm"), id=ident(3), device="k",
              device_seq=1, sent=None, **together)  # fmt: skip
    receipts = await post_together(ledger, [void, bad])

    assert [receipt.status for receipt in receipts] == [201, 201]
    assert await differing(owner_url) == []
