from uuid import uuid4

import psycopg
import pytest

from service.store.append import append
from service.store.connecting import connect, make_pool
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation, writing
from tests.databases.clone import Database
from tests.store.making import CREATED_AT, an_entry


@pytest.mark.parametrize(("sizes", "expected"), [([40], -1), ([40, 24], 64), ([600], 600), ([100, 100, 400], 600)])
async def test_database_learns_how_large_a_young_log_is(database: Database, sizes: list[int], expected: int) -> None:
    """A log that passes 64 events, and eight times that, has its tables looked at."""
    organisation = uuid4()
    async with await connect(database.owner_url) as owner, owner.transaction():
        await set_organisation(owner, organisation)
        await make_organisation(owner, organisation, "An invented firm", CREATED_AT)
    async with make_pool(database.app_url, 1) as pool:
        for size in sizes:
            async with writing(pool, organisation) as conn:
                await append(conn, organisation, context_seq=0, entries=[an_entry() for _ in range(size)])
    with psycopg.connect(database.owner_url) as owner_now:
        known = owner_now.execute("SELECT reltuples FROM pg_class WHERE oid = 'ledger.event'::regclass").fetchone()
    assert known == (expected,)
