"""Rows of the log as the domain knows them."""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping
from datetime import datetime
from typing import Any, Final, LiteralString, TypeVar
from uuid import UUID

import msgspec
from psycopg import AsyncConnection, AsyncCursor
from psycopg.rows import class_row

from service.domain.codec import decode_stored
from service.domain.event import Event
from service.domain.recorded import Recorded

Row = TypeVar("Row")
Decode = Callable[[bytes, str, int], Event]
"""Makes an event of a body, of a kind in a version of that."""
AT_ONCE: Final = 1000
"""Rows that are decoded before whoever else is ready has a turn."""


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


def recorded(row: EventRow, decode: Decode = decode_stored) -> Recorded:
    """Decode a row."""
    return Recorded(
        event=decode(row.body, row.kind, row.kind_version),
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
        return [recorded(row) async for row in _one_by_one(cursor)]


async def read_stored(
    conn: AsyncConnection, query: LiteralString, parameters: Mapping[str, Any], decode: Decode = decode_stored
) -> list[Stored]:
    """Run a query for the columns of StoredRow and decode what it finds."""
    async with conn.cursor(binary=True, row_factory=class_row(StoredRow)) as cursor:
        await cursor.execute(query, parameters)
        rows = _one_by_one(cursor)
        return [Stored(recorded=recorded(row, decode), body=row.body, conflicts=row.conflicts) async for row in rows]


async def _one_by_one(cursor: AsyncCursor[Row]) -> AsyncIterator[Row]:
    """Give what a cursor found; of much, others have their turns in between, and no list of all rows is made."""
    more = True
    while more:
        rows = await cursor.fetchmany(AT_ONCE)
        for row in rows:
            yield row
        more = len(rows) == AT_ONCE
        if more:
            await asyncio.sleep(0)
