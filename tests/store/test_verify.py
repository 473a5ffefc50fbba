import hmac
from base64 import urlsafe_b64encode
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from uuid import uuid4

import msgspec
import psycopg
import pytest

from service.store.append import FreeText
from service.store.connecting import connect
from service.store.erase_texts import erase_texts
from service.store.position import reading
from service.store.scope import set_organisation, writing
from service.store.verify import Fault, verify
from tests.store.making import Desk, a_kin, an_entry, appended

WORDS = "hose chafed"
TEXT_KEY = b"k" * 32
SEALED = "hmac-sha256:" + urlsafe_b64encode(hmac.digest(TEXT_KEY, WORDS.encode(), "sha256")).rstrip(b"=").decode()


async def faults(desk: Desk) -> list[Fault]:
    """Verify as the app role does."""
    async with reading(desk.pool, desk.organisation) as (conn, _):
        return [fault async for fault in verify(conn, desk.organisation)]


@asynccontextmanager
async def tampering(desk: Desk) -> AsyncIterator[psycopg.AsyncConnection]:
    """Switch the triggers off for a moment, as only the owner can."""
    async with await connect(desk.database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, desk.organisation)
        await owner.execute("ALTER TABLE ledger.event DISABLE TRIGGER USER")
        yield owner
        await owner.execute("ALTER TABLE ledger.event ENABLE ALWAYS TRIGGER event_rows_never_change")
        await owner.execute("ALTER TABLE ledger.event ENABLE ALWAYS TRIGGER event_never_changes")


async def recorded(desk: Desk) -> None:
    """Record five events whose columns say what their bodies say."""
    id_ = uuid4()
    body = {"kind": "cleaned", "id": str(id_), "occurred_at": "2026-03-02T13:00:00+01:00", "by": "p-1", "asset": "FX-1"}
    text = FreeText(path="defects[0].found", key=TEXT_KEY, text=WORDS)
    third = an_entry("FX-1", id=id_, body=msgspec.json.encode(body | {"defects": [{"found": SEALED}]}), texts=(text,))
    await appended(desk, [an_entry()])
    await appended(desk, [an_entry()])
    await appended(desk, [third], [a_kin("FX-1")])
    await appended(desk, [an_entry(), an_entry()])


async def test_log_as_recorded_has_no_fault(desk: Desk) -> None:
    """A log that nobody touched verifies."""
    await recorded(desk)
    assert await faults(desk) == []


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ("body = convert_to(replace(convert_from(body, 'UTF8'), '4.0', '9.0'), 'UTF8')", {"leaf"}),
        ("body = '\\x7b'", {"leaf", "body"}),
        ("leaf = sha256('')", {"leaf"}),
        ("recorded_at = recorded_at + interval '1 microsecond'", {"leaf"}),
        ("received_at = received_at - interval '1 hour'", {"leaf"}),
        ("sent_at = received_at", {"leaf"}),
        ("key = id", {"leaf"}),
        ("kind_version = 2", {"leaf"}),
        ("imported = true", {"leaf"}),
        ("id = key", {"id"}),
        ("kind = 'stock-received'", {"kind"}),
        ("instant = instant + interval '1 second'", {"instant"}),
        ("instant = null, on_day = '2026-03-02'", {"instant", "on_day"}),
        ("by_ref = 'p-2'", {"by_ref"}),
        ("site = 'other-site'", {"site"}),
        ("device = 'kiosk-3'", {"device"}),
        ("device_seq = 7", {"device_seq"}),
    ],
)
async def test_edited_row_is_found(desk: Desk, change: str, found: set[str]) -> None:
    """An edit of any one column of a row names the row and what does not hold any more."""
    await recorded(desk)
    async with tampering(desk) as owner:
        await owner.execute(f"UPDATE ledger.event SET {change} WHERE seq = 2".encode())  # noqa: S608 - spelled out above
    assert {(fault.seq, fault.what) for fault in await faults(desk)} == {(2, what) for what in found}


async def test_recorded_at_alone_is_found_even_in_the_newest_row(desk: Desk) -> None:
    """Moving only the moment of the last row breaks its hash, and the head knows a newer one than before."""
    await recorded(desk)
    async with tampering(desk) as owner:
        await owner.execute("UPDATE ledger.event SET recorded_at = recorded_at + interval '1 day' WHERE seq = 5")
    assert await faults(desk) == [Fault(5, "leaf"), Fault(None, "head")]


async def test_removed_row_is_found(desk: Desk) -> None:
    """A row that is gone leaves a gap in the numbers."""
    await recorded(desk)
    async with tampering(desk) as owner:
        await owner.execute("DELETE FROM ledger.event WHERE seq = 2")
    assert await faults(desk) == [Fault(3, "gap after 1")]


async def test_removed_tail_is_found(desk: Desk) -> None:
    """Rows missing at the end are known to the head."""
    await recorded(desk)
    async with tampering(desk) as owner:
        await owner.execute("DELETE FROM ledger.event WHERE seq > 3")
    assert await faults(desk) == [Fault(None, "head")]


async def test_rows_in_another_order_are_found(desk: Desk) -> None:
    """Two rows that change places have hashes of other numbers."""
    await recorded(desk)
    async with tampering(desk) as owner:
        await owner.execute("UPDATE ledger.event SET seq = 100 WHERE seq = 1")
        await owner.execute("UPDATE ledger.event SET seq = 1 WHERE seq = 2")
        await owner.execute("UPDATE ledger.event SET seq = 2 WHERE seq = 100")
    assert await faults(desk) == [Fault(1, "leaf"), Fault(2, "recorded_at goes back"), Fault(2, "leaf")]


async def test_changed_text_is_found(desk: Desk) -> None:
    """While a text is kept outside the log, the body proves it."""
    await recorded(desk)
    async with await connect(desk.database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, desk.organisation)
        await owner.execute("UPDATE ledger.free_text SET text = 'hose as new'")
    assert await faults(desk) == [Fault(3, "text defects[0].found")]


async def test_erased_text_leaves_the_log_whole(desk: Desk) -> None:
    """Erasing a text breaks no proof."""
    await recorded(desk)
    async with writing(desk.pool, desk.organisation) as conn:
        third = await (await conn.execute("SELECT id FROM ledger.event WHERE seq = 3")).fetchone()
        assert third is not None
        assert await erase_texts(conn, desk.organisation, third[0]) == 1
    assert await faults(desk) == []
