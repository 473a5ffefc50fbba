"""The command line at work on a test's database."""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import msgspec
import psycopg

from service.domain.caller import Caller
from service.ledger import Ledger
from service.record import Receipt, record
from service.serving import run as run_async
from service.store.connecting import make_pool
from tests.databases.clone import Database

Run = Callable[..., tuple[int, str, str]]
"""Carries out a command; gives its exit code, output and error output."""

AT = datetime(2026, 3, 2, 12, tzinfo=UTC)


def made(respirators: Run, name: str) -> UUID:
    """Make an organisation."""
    code, out, _ = respirators("organisation", "create", name)
    assert code == 0
    return UUID(out.split()[-1])


def key_made(respirators: Run, database: Database, organisation: UUID) -> UUID:
    """Make an administrator's key, and give its id."""
    code, _, _ = respirators("key", "create", "--organisation", str(organisation), "--role", "administrator")
    assert code == 0
    with psycopg.connect(database.owner_url) as owner:
        row = owner.execute("SELECT id FROM ledger.api_key WHERE organisation = %s", [organisation]).fetchone()
    assert row is not None
    return UUID(str(row[0]))


def posted(
    database: Database, organisation: UUID, key: UUID, messages: Sequence[bytes], at: datetime = AT
) -> list[Receipt]:
    """Record messages as the service does."""
    caller = Caller(organisation=organisation, key=key, role="administrator")

    async def work() -> list[Receipt]:
        async with make_pool(database.app_url, 1) as pool:
            ledger = Ledger(pool=pool, clock=lambda: at)
            return await record(ledger, caller, messages, received_at=at, sent_at=None)

    return run_async(work())


def said(kind: str, **fields: Any) -> bytes:
    """Make a message of the morning."""
    return msgspec.json.encode(
        {"id": str(uuid4()), "kind": kind, "occurred_at": "2026-03-02T08:00:00Z", "by": "p-1", **fields}
    )


def trained(person: str, **fields: Any) -> bytes:
    """Say that a person has learnt to examine."""
    return said("trained", person=person, competences=["examine"], **fields)
