"""Whoever owns the database can change rows; verification names every one of them."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import psycopg
import pytest

from service.ledger import Ledger
from service.store.connecting import connect
from service.store.scope import fix_snapshot, set_organisation
from service.verify import Fault, Verified, verify
from tests.oracle.firm import FIRM
from tests.oracle.histories import random_history
from tests.oracle.posting import Posted, say
from tests.use.posting import ORGANISATION, post
from tests.use.test_waiting import named, unit

SEQ = len(FIRM) + 3
"""Of the event that most tests tamper with: neither the first nor the last."""
TRIGGERS = {"event": ("event_rows_never_change", "event_never_changes"), "head": ("head_never_goes_back", "head_stays")}


def cleaned(hour: int, **fields: Any) -> Posted:
    """Clean the unit."""
    said = {"asset": "W-1", "scope": "unit", "method": "wiped"} | fields
    return say("cleaned", f"2026-03-02 0{hour}:00", id=f"0198c1f2-7a10-7c3e-9b55-00000000004{hour}", **said)


async def recorded(ledger: Ledger) -> None:
    """Record a firm, a unit and three things that happened to it, of which the last has free text."""
    washed = [cleaned(7), cleaned(8), cleaned(9, remark="hose chafed")]
    receipts = await post(ledger, [*named(FIRM), unit(), *washed])
    assert receipts[-1].seq == len(FIRM) + 4


async def verified(owner_url: str) -> tuple[Verified, list[Fault]]:
    """Verify as the command does."""
    found: list[Fault] = []
    async with await connect(owner_url) as owner, owner.transaction():
        await fix_snapshot(owner)
        await set_organisation(owner, ORGANISATION)
        told = await verify(owner, ORGANISATION, found.append)
    assert told.faults == len(found)
    return told, found


async def faults(owner_url: str) -> list[tuple[int | None, str]]:
    """Verify, and give what is named where."""
    return [(fault.seq, fault.what) for fault in (await verified(owner_url))[1]]


@asynccontextmanager
async def tampering(owner_url: str) -> AsyncIterator[psycopg.AsyncConnection]:
    """Switch the triggers off for a moment, as only the owner can."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        for table in TRIGGERS:
            await owner.execute(f"ALTER TABLE ledger.{table} DISABLE TRIGGER USER".encode())
        yield owner
        for table, triggers in TRIGGERS.items():
            for trigger in triggers:
                await owner.execute(f"ALTER TABLE ledger.{table} ENABLE ALWAYS TRIGGER {trigger}".encode())


async def test_log_as_recorded_has_no_fault(ledger: Ledger, owner_url: str) -> None:
    """A log that nobody touched verifies, its definitions, units and texts alike."""
    await recorded(ledger)
    told, found = await verified(owner_url)
    assert found == []
    texts = sum(1 for one in FIRM for field in ("remark", "reason") if field in one.message) + 1
    assert told == Verified(events=len(FIRM) + 4, texts=texts, faults=0)


async def test_log_of_a_random_history_has_no_fault(ledger: Ledger, owner_url: str) -> None:
    """Whatever was posted, of every kind, late, doubled or voided, what is stored agrees with itself."""
    await post(ledger, random_history(11, 150).posted)
    told, found = await verified(owner_url)
    assert found == []
    assert told.events > 80


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ("body = convert_to(replace(convert_from(body, 'UTF8'), 'wiped', 'rinsed'), 'UTF8')", ["leaf"]),
        ("body = '\\x7b'", ["leaf", "body"]),
        ("leaf = sha256('')", ["leaf"]),
        ("recorded_at = recorded_at + interval '1 microsecond'", ["leaf"]),
        ("received_at = received_at - interval '1 hour'", ["leaf"]),
        ("sent_at = received_at + interval '1 hour'", ["leaf"]),
        ("key = id", ["leaf"]),
        ("kind_version = 2", ["leaf"]),
        ("imported = true", ["leaf"]),
        ("id = key", ["id"]),
        ("kind = 'checked'", ["kind"]),
        ("instant = instant + interval '1 second'", ["instant"]),
        ("instant = null, on_day = '2026-03-02'", ["instant", "on_day"]),
        ("by_ref = 'p-2'", ["by_ref"]),
        ("site = 'mesa'", ["site"]),
        ("device = 'kiosk-3'", ["device"]),
        ("device_seq = 7", ["device_seq"]),
    ],
)
async def test_edited_row_is_found(ledger: Ledger, owner_url: str, change: str, found: list[str]) -> None:
    """An edit of any one column of a row names the row and what does not hold any more."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute(f"UPDATE ledger.event SET {change} WHERE seq = {SEQ}".encode())  # noqa: S608 - spelled out above
    assert await faults(owner_url) == [(SEQ, what) for what in found]


async def test_edited_definition_is_found(ledger: Ledger, owner_url: str) -> None:
    """A definition has no device of its own: one put into its columns is found."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute("UPDATE ledger.event SET device = 'powered' WHERE kind = 'model-defined' AND seq = 4")
    assert await faults(owner_url) == [(4, "device")]


async def test_column_is_told_beside_the_body(ledger: Ledger, owner_url: str) -> None:
    """Of a column that says something else, both words are told."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute("UPDATE ledger.event SET by_ref = 'p-2' WHERE seq = %(seq)s", {"seq": SEQ})
    assert (await verified(owner_url))[1] == [Fault(SEQ, "by_ref", 'the column says "p-2", the body "p-1"')]


async def test_recorded_at_alone_is_found_even_in_the_newest_row(ledger: Ledger, owner_url: str) -> None:
    """Moving only the moment of the last row breaks its hash, and the head knows nothing of it."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute(
            "UPDATE ledger.event SET recorded_at = recorded_at + interval '1 day' WHERE seq = %s", [SEQ + 1]
        )
    assert await faults(owner_url) == [(SEQ + 1, "leaf"), (None, "head")]


async def test_removed_row_is_found(ledger: Ledger, owner_url: str) -> None:
    """A row that is gone leaves a gap in the numbers."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute("DELETE FROM ledger.event WHERE seq = %s", [SEQ - 1])
    assert (await verified(owner_url))[1] == [Fault(SEQ, "gap", f"the event before it is {SEQ - 2}")]


async def test_removed_tail_is_found(ledger: Ledger, owner_url: str) -> None:
    """Rows missing at the end are known to the head, and a text without its event is one too many."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute("DELETE FROM ledger.event WHERE seq > %s", [SEQ])
    assert await faults(owner_url) == [(None, "head"), (None, "text remark")]


async def test_removed_head_is_found(ledger: Ledger, owner_url: str) -> None:
    """A log whose counter is gone does not end where anything says."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        await owner.execute("DELETE FROM ledger.head")
    assert await faults(owner_url) == [(None, "head")]


async def test_rows_in_another_order_are_found(ledger: Ledger, owner_url: str) -> None:
    """Two rows that change places have hashes of other numbers."""
    await recorded(ledger)
    async with tampering(owner_url) as owner:
        for old, new in ((SEQ, 1000), (SEQ + 1, SEQ), (1000, SEQ + 1)):
            await owner.execute("UPDATE ledger.event SET seq = %s WHERE seq = %s", [new, old])
    assert await faults(owner_url) == [(SEQ, "leaf"), (SEQ + 1, "recorded_at"), (SEQ + 1, "leaf")]


@pytest.mark.parametrize("change", ["text = 'hose as new'", "key = sha256('')", "path = 'reason'"])
async def test_changed_text_is_found(ledger: Ledger, owner_url: str, change: str) -> None:
    """While a text is kept outside the log, the body proves it."""
    await recorded(ledger)
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        await owner.execute(
            f"UPDATE ledger.free_text SET {change} WHERE text = 'hose chafed'".encode()  # noqa: S608 - spelled out above
        )
    assert await faults(owner_url) == [(SEQ + 1, "text reason" if "path" in change else "text remark")]
