"""A database with two firms and their keys, as the service finds it."""

from collections.abc import AsyncIterator
from datetime import datetime, timedelta

import pytest

from service.ledger import Ledger
from service.store.connecting import connect, make_pool
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from tests.http.doors import FOREIGN, NOON, OURS
from tests.http.keys import Keys


@pytest.fixture
async def keys(owner_url: str) -> AsyncIterator[Keys]:
    """Give what makes keys of two invented firms, on the owner's connection."""
    async with await connect(owner_url) as owner:
        for organisation, name in ((OURS, "An invented firm"), (FOREIGN, "Another invented firm")):
            async with owner.transaction():
                await set_organisation(owner, organisation)
                await make_organisation(owner, organisation, name, NOON - timedelta(days=365))
        yield Keys(owner)


@pytest.fixture
def clock() -> list[datetime]:
    """Give the moment it is; a test may change it."""
    return [NOON]


@pytest.fixture
async def ledger(keys: Keys, app_url: str, clock: list[datetime]) -> AsyncIterator[Ledger]:  # noqa: ARG001 - the firms
    """Give the database as the role that serves."""
    async with make_pool(app_url, 4) as pool:
        yield Ledger(pool=pool, clock=lambda: clock[0])
