"""A service that sends webhooks to receivers on this machine."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import httpx
import pytest

from service.app import Wiring
from service.pushing import dispatcher
from service.settings import Settings
from tests.http.applications import application
from tests.http.conftest import made_firms
from tests.http.contract import hold_to_contract
from tests.http.firm import WEBHOOK_KEY, the_firm
from tests.http.keys import Keys

Headers = dict[str, str]


@pytest.fixture(autouse=True)
def _looking_often(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have webhooks that no process serves seen soon: nothing else tells of what a test changes behind the service."""
    monkeypatch.setattr(dispatcher, "LOOK", 0.2)


@asynccontextmanager
async def sending(app_url: str, **settings: Any) -> AsyncIterator[httpx.AsyncClient]:
    """Start the whole service, allowed to send to this machine, and give a client of it."""
    told: dict[str, Any] = {
        "webhook_key": WEBHOOK_KEY,
        "webhook_private": True,
        "webhook_seconds": 5,
        "pool_size": 4,
    } | settings
    with application(Wiring(Settings(database_url=app_url, **told))) as app:
        transport, hooks = httpx.ASGITransport(app), {"response": [hold_to_contract]}
        async with (
            app.lifespan(),
            httpx.AsyncClient(transport=transport, base_url="http://ledger.test", event_hooks=hooks) as client,
        ):
            yield client


@pytest.fixture
async def keys(owner_url: str) -> AsyncIterator[Keys]:
    """Give what makes keys of two invented firms, on the owner's connection."""
    async with made_firms(owner_url) as made:
        yield made


@pytest.fixture
async def administrator(keys: Keys) -> Headers:
    """Give the headers of an administrator's key."""
    return await keys.make("administrator")


@pytest.fixture
async def integrator(keys: Keys) -> Headers:
    """Give the headers of an integrator's key."""
    return await keys.make("integrator")


@pytest.fixture
async def http(keys: Keys, app_url: str, administrator: Headers) -> AsyncIterator[httpx.AsyncClient]:  # noqa: ARG001 - the firms
    """Give a client of the service with two sites, a model and a unit: four events."""
    async with sending(app_url) as client:
        await client.post("/v1/events", json=the_firm(), headers=administrator)
        yield client
