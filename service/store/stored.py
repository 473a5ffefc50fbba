"""Rows of the log as the domain knows them."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, LiteralString
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.codec import decode_stored
from service.domain.recorded import Recorded


class EventRow(msgspec.Struct, frozen=True, kw_only=True):
    """The columns that every reading of events selects."""

    organisation: UUID
    seq: int
    kind: str
    kind_version: int
    received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None
    key: UUID
    imported: bool
    body: bytes


class StoredRow(EventRow, frozen=True, kw_only=True):
    """The columns of an event that is shown or compared, not only folded."""

    conflicts: bytes


class Stored(msgspec.Struct, frozen=True, kw_only=True):
    """An event of the log, its body as it was hashed, and the conflicts it was answered with."""

    recorded: Recorded
    body: bytes
    conflicts: bytes


def recorded(row: EventRow) -> Recorded:
    """Decode a row."""
    return Recorded(
        event=decode_stored(row.body, row.kind, row.kind_version),
        organisation=row.organisation,
        seq=row.seq,
        received_at=row.received_at,
        recorded_at=row.recorded_at,
        sent_at=row.sent_at,
        key=row.key,
        imported=row.imported,
    )


async def read_recorded(conn: AsyncConnection, query: LiteralString, parameters: Mapping[str, Any]) -> list[Recorded]:
    """Run a query for the columns of EventRow and decode what it finds."""
    async with conn.cursor(binary=True, row_factory=class_row(EventRow)) as cursor:
        await cursor.execute(query, parameters)
        return [recorded(row) for row in await cursor.fetchall()]


async def read_stored(conn: AsyncConnection, query: LiteralString, parameters: Mapping[str, Any]) -> list[Stored]:
    """Run a query for the columns of StoredRow and decode what it finds."""
    async with conn.cursor(binary=True, row_factory=class_row(StoredRow)) as cursor:
        await cursor.execute(query, parameters)
        return [
            Stored(recorded=recorded(row), body=row.body, conflicts=row.conflicts) for row in await cursor.fetchall()
        ]
