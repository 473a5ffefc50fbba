"""A database with one firm, and the keys that the histories of the oracle are posted with."""

from collections.abc import AsyncIterator
from datetime import UTC, datetime

import msgspec
import pytest

from service.domain.caller import Caller, Role
from service.ledger import Ledger
from service.store.connecting import connect, make_pool
from service.store.make_key import NewKey, make_key
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from tests.oracle.histories import KEYS
from tests.use.posting import ORGANISATION, caller_of, secret_hash

LONG_AGO = datetime(2025, 1, 1, tzinfo=UTC)
NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)


@pytest.fixture
async def callers(owner_url: str) -> dict[str, Caller]:
    """Give the callers by the names of their keys."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        await make_organisation(owner, ORGANISATION, "An invented firm", LONG_AGO)
        for name, (role, sites) in KEYS.items():
            key = NewKey(
                id=caller_of(name).key,
                name=name,
                role=msgspec.convert(role, Role),
                sites=None if sites is None else sorted(sites),
                secret_hash=secret_hash(name),
                created_at=LONG_AGO,
                expires_at=None,
            )
            await make_key(owner, ORGANISATION, key)
    return {name: caller_of(name) for name in KEYS}


@pytest.fixture
async def ledger(callers: dict[str, Caller], app_url: str) -> AsyncIterator[Ledger]:  # noqa: ARG001 - the firm
    """Give the database as the role that serves."""
    async with make_pool(app_url, 4) as pool:
        yield Ledger(pool=pool, clock=lambda: NOW)
