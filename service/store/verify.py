"""Verify an organisation's log from its bytes: numbers, hashes, moments, columns and kept texts against the bodies.

What agrees with itself throughout can still have been written anew by whoever owns the database; that only a checkpoint
kept elsewhere finds.
"""

import itertools
import re
from collections.abc import AsyncIterator, Iterator
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.codec import sealed_text
from service.domain.leaf import Header, leaf_hash

LOG: Final = """
SELECT organisation, seq, id, kind, kind_version, instant, on_day, by_ref, site, device, device_seq, received_at,
    recorded_at, sent_at, key, imported, body, leaf
FROM ledger.event
WHERE organisation = %(organisation)s
ORDER BY seq
"""
HEAD: Final = """
SELECT last_seq, last_recorded_at FROM ledger.head WHERE organisation = %(organisation)s
"""
TEXTS: Final = """
SELECT e.seq, t.path, t.key, t.text, e.body
FROM ledger.free_text t LEFT JOIN ledger.event e ON e.organisation = t.organisation AND e.id = t.event
WHERE t.organisation = %(organisation)s
ORDER BY e.seq, t.path
"""
STEP: Final = re.compile(r"[^.\[\]]+")


class Fault(msgspec.Struct, frozen=True):
    """Something that is not as it was recorded: where, None for the log as a whole, and what."""

    seq: int | None
    what: str


class LogRow(msgspec.Struct, frozen=True, kw_only=True):
    """A row as it lies in the table."""

    organisation: UUID
    seq: int
    id: UUID
    kind: str
    kind_version: int
    instant: datetime | None
    on_day: date | None
    by_ref: str
    site: str | None
    device: str | None
    device_seq: int | None
    received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None
    key: UUID
    imported: bool
    body: bytes
    leaf: bytes


class Envelope(msgspec.Struct, frozen=True, kw_only=True):
    """What the columns of a row repeat of its body; these members have one meaning in every version of every kind."""

    id: UUID
    kind: str
    instant: datetime | None = msgspec.field(name="occurred_at", default=None)
    on_day: date | None = msgspec.field(name="occurred_on", default=None)
    by_ref: str = msgspec.field(name="by")
    site: str | None = None
    device: str | None = None
    device_seq: int | None = None


async def verify(conn: AsyncConnection, organisation: UUID) -> AsyncIterator[Fault]:
    """Give every fault, in order of seq, then those of the head and of the kept texts.

    The caller's transaction has a fixed snapshot. Memory does not grow with the log.
    """
    whose = {"organisation": organisation}
    seq, newest = 0, None
    async with conn.cursor(name="verify_log", row_factory=class_row(LogRow)) as log:
        await log.execute(LOG, whose)
        async for row in log:
            for fault in itertools.chain(misplaced(row, seq, newest), altered(row)):
                yield fault
            seq, newest = row.seq, row.recorded_at
    head = await (await conn.execute(HEAD, whose)).fetchone()
    if head is None or head[0] != seq or (newest is not None and head[1] < newest):
        yield Fault(None, "head")
    async with conn.cursor(name="verify_texts") as texts:
        await texts.execute(TEXTS, whose)
        async for event_seq, path, key, text, body in texts:
            if body is None or said_at(body, path) != sealed_text(text, key):
                yield Fault(event_seq, f"text {path}")


def misplaced(row: LogRow, previous: int, newest: datetime | None) -> Iterator[Fault]:
    """Find a gap in the numbers before the row, and a moment that goes back."""
    if row.seq != previous + 1:
        yield Fault(row.seq, f"gap after {previous}")
    if newest is not None and row.recorded_at < newest:
        yield Fault(row.seq, "recorded_at goes back")


def altered(row: LogRow) -> Iterator[Fault]:
    """Find a hash that is not that of header and body, and columns that do not say what the body says."""
    header = Header(
        organisation=row.organisation,
        seq=row.seq,
        recorded_at=row.recorded_at,
        received_at=row.received_at,
        sent_at=row.sent_at,
        key=row.key,
        kind_version=row.kind_version,
        imported=row.imported,
    )
    if leaf_hash(header, row.body) != row.leaf:
        yield Fault(row.seq, "leaf")
    try:
        said = msgspec.json.decode(row.body, type=Envelope)
    except msgspec.DecodeError:
        yield Fault(row.seq, "body")
        return
    for column in Envelope.__struct_fields__:
        if getattr(row, column) != getattr(said, column):
            yield Fault(row.seq, column)


def said_at(body: bytes, path: str) -> object:
    """Give what stands in a body at a place such as "defects[0].found", None where there is nothing."""
    try:
        place: Any = msgspec.json.decode(body)
        for step in STEP.findall(path):
            place = place[int(step)] if isinstance(place, list) else place[step]
    except (msgspec.DecodeError, LookupError, TypeError, ValueError):
        return None
    return place
