import struct
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest

from service.store.arrays import (
    Bigints,
    Blobs,
    Booleans,
    Days,
    Instants,
    Integers,
    Sinces,
    Smallints,
    Texts,
    Untils,
    Uuids,
)
from service.store.connecting import Pool

ELSEWHERE = datetime(2026, 3, 1, 1, 2, 3, 4, tzinfo=timezone(timedelta(hours=2)))
ID = UUID("0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01")
COLUMNS = [
    (Texts, ["", None, "gerät \U0001f637", "a,b\"c'd{}"], "text[]"),
    (Blobs, [b"", None, bytes(range(256))], "bytea[]"),
    (Uuids, [ID, None], "uuid[]"),
    (Instants, [ELSEWHERE, None, datetime(1900, 1, 1, tzinfo=UTC)], "timestamp with time zone[]"),
    (Days, [date(1950, 1, 2), None, date(2200, 12, 31)], "date[]"),
    (Bigints, [1, None, -(2**63), 2**63 - 1], "bigint[]"),
    (Integers, [1, None, -(2**31)], "integer[]"),
    (Smallints, [1, None, 2**15 - 1], "smallint[]"),
    (Booleans, [True, None, False], "boolean[]"),
]


@pytest.mark.parametrize(("column", "values", "type_"), COLUMNS, ids=[column.__name__ for column, _, _ in COLUMNS])
async def test_column_arrives_as_it_was_sent(
    shared_pool: Pool, column: type[list[object]], values: list[object], type_: str
) -> None:
    """A column arrives with every value and null, whole or empty, under one type."""
    async with shared_pool.connection() as conn:
        for sent in (values, [None], []):
            found = await conn.execute("SELECT %(sent)s, pg_typeof(%(sent)s)::text", {"sent": column(sent)})
            assert await found.fetchone() == (sent, type_)


async def test_open_end_arrives_as_infinity(shared_pool: Pool) -> None:
    """An interval without an end reaches to infinity."""
    async with shared_pool.connection() as conn:
        found = await conn.execute("SELECT %s::text", (Untils([None, datetime(2026, 3, 1, tzinfo=UTC)]),))
        assert await found.fetchone() == ('{infinity,"2026-03-01 00:00:00+00"}',)


async def test_open_beginning_arrives_as_infinity(shared_pool: Pool) -> None:
    """What has no beginning has been from before all time."""
    async with shared_pool.connection() as conn:
        found = await conn.execute("SELECT %s::text", (Sinces([None, datetime(2026, 3, 1, tzinfo=UTC)]),))
        assert await found.fetchone() == ('{-infinity,"2026-03-01 00:00:00+00"}',)


async def test_number_that_is_too_large_is_refused(shared_pool: Pool) -> None:
    """A number beyond its column is an error before anything is sent."""
    async with shared_pool.connection() as conn:
        with pytest.raises(struct.error):
            await conn.execute("SELECT %s", (Smallints([2**15]),))
