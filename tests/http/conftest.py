"""A database with two firms and their keys, as the service finds it."""

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from typing import NamedTuple

import httpx
import pytest
import structlog

from service.ledger import Ledger
from service.store.connecting import connect, make_pool
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from tests.databases.clone import Template, cloned
from tests.http.doors import FOREIGN, NOON, OURS
from tests.http.firm import Message, post, serving, the_firm
from tests.http.keys import Keys


class Refusing(NamedTuple):
    """A service that is asked nothing but what it refuses, or reads."""

    http: httpx.AsyncClient
    administrator: dict[str, str]


@pytest.fixture(autouse=True, scope="session")
def _plain_log() -> None:
    """Write traces without the values of variables, as the service does."""
    lines = structlog.dev.ConsoleRenderer(colors=False, exception_formatter=structlog.dev.plain_traceback)
    structlog.configure(processors=[structlog.processors.add_log_level, lines])


@asynccontextmanager
async def made_firms(owner_url: str) -> AsyncIterator[Keys]:
    """Make two invented firms, and give what makes their keys."""
    async with await connect(owner_url) as owner:
        for organisation, name in ((OURS, "An invented firm"), (FOREIGN, "Another invented firm")):
            async with owner.transaction():
                await set_organisation(owner, organisation)
                await make_organisation(owner, organisation, name, NOON - timedelta(days=365))
        yield Keys(owner)


@pytest.fixture
async def keys(owner_url: str) -> AsyncIterator[Keys]:
    """Give what makes keys of two invented firms, on the owner's connection."""
    async with made_firms(owner_url) as made:
        yield made


@pytest.fixture
def clock() -> list[datetime]:
    """Give the moment it is; a test may change it."""
    return [NOON]


@pytest.fixture
async def ledger(keys: Keys, app_url: str, clock: list[datetime]) -> AsyncIterator[Ledger]:  # noqa: ARG001 - the firms
    """Give the database as the role that serves."""
    async with make_pool(app_url, 4) as pool:
        yield Ledger(pool=pool, clock=lambda: clock[0])


@asynccontextmanager
async def reading(template: Template, said: Iterable[Message]) -> AsyncIterator[Refusing]:
    """Give a service of a firm of which events tell, to be shared by tests that get nothing recorded."""
    with cloned(template) as clone:
        async with made_firms(clone.owner_url) as keys, serving(clone.app_url) as http:
            administrator = await keys.make("administrator")
            await post(http, administrator, *said)
            yield Refusing(http, administrator)


@pytest.fixture(scope="module")
async def refusing(template: Template) -> AsyncIterator[Refusing]:
    """Give a service and an administrator's headers, shared by the tests of a module that get nothing recorded."""
    async with reading(template, the_firm()) as shared:
        yield shared


@pytest.fixture
async def administrator(keys: Keys) -> dict[str, str]:
    """Give the headers of an administrator's key."""
    return await keys.make("administrator")


@pytest.fixture
async def http(keys: Keys, app_url: str) -> AsyncIterator[httpx.AsyncClient]:  # noqa: ARG001 - the firms
    """Give a client of the whole service, on a database that holds two firms and no events."""
    async with serving(app_url) as client:
        yield client


@pytest.fixture
async def firm(http: httpx.AsyncClient, administrator: dict[str, str]) -> httpx.AsyncClient:
    """Give a client of the service with two sites, a model and a unit."""
    answered = await http.post("/v1/events", json=the_firm(), headers=administrator)
    assert [result["status"] for result in answered.json()["results"]] == [201, 201, 201, 201]
    return http


@pytest.fixture
async def labelling(app_url: str, administrator: dict[str, str]) -> AsyncIterator[httpx.AsyncClient]:
    """Give a client of a service whose operator has set an address for labels, with the firm of `firm`."""
    async with serving(app_url, label_address="https://id.example.com/a") as client:
        await post(client, administrator, *the_firm())
        yield client
