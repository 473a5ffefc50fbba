"""Fixtures of real databases. Nothing here is a fake.

The server is, in this order: the one `TEST_DATABASE_URL` names, a testcontainers PostgreSQL where a Docker engine
answers, the PostgreSQL that comes with the package. A template database is migrated once per run; every test that
asks for one gets a clone of it, and reaches it as the owner role or as the app role, as the service does.

Async tests and fixtures run under anyio's pytest plugin (`anyio_mode = "auto"`, asyncio alone): write
`async def test_...` and nothing else.

    cluster           the server; `cluster.url` is that of its administrator
    template          the migrated database that is cloned
    database          one clone: `database.owner_url`, `database.app_url`, `database.name`
    empty_database    the same without a single migration, with its owner role
    owner_url, app_url
    connection        an async psycopg connection to the clone as the app role (autocommit off)
    owner_connection  the same as the owner
"""

import gc
import os
from collections.abc import AsyncIterator, Iterator
from typing import Any

import psycopg
import pytest

from service.serving import NEW_OBJECTS
from tests.databases.clone import Database, Template, cloned, empty, made_template
from tests.databases.cluster import Cluster, started
from tests.sharing import in_order, scheduler
from tests.skips import KNOWN

SERVER = pytest.StashKey[str]()
SKIPPED: list[str] = []
TOLD: list[str] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Keep what was skipped, and what a test has to tell (`record_property("told", ...)`)."""
    TOLD.extend(str(text) for name, text in report.user_properties if name == "told" and report.when == "call")
    if report.skipped and not hasattr(report, "wasxfail"):
        SKIPPED.append(report.nodeid)


def pytest_collectreport(report: pytest.CollectReport) -> None:
    """Keep what was skipped as a whole file."""
    if report.skipped:
        SKIPPED.append(report.nodeid)


def pytest_configure() -> None:
    """Look for garbage as rarely as the service does."""
    gc.set_threshold(NEW_OBJECTS)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes long."""
    in_order(items)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Keep together what shares something dear, where the tests of a file stay together."""
    return scheduler(config, log) if config.option.dist == "loadfile" else None


def pytest_collection_finish() -> None:
    """Let what was imported and collected stay unsearched: looking for garbage in it took a tenth of the time."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Fail a run of CI that skipped what tests/skips.py does not name; tell the leading process which server it was."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["server"] = session.config.stash.get(SERVER, "")
    if os.environ.get("CI") and not set(SKIPPED) <= set(KNOWN) and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Learn from a process of the run which server it used."""
    if server := getattr(node, "workeroutput", {}).get("server"):
        node.config.stash[SERVER] = server


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Print which server the tests ran on, what they tell, and every skip with whether it is a known one."""
    terminalreporter.write_line(f"database: {config.stash.get(SERVER, 'none was needed')}")
    for text in TOLD:
        terminalreporter.write_line(text)
    for test in SKIPPED:
        terminalreporter.write_line(f"skipped: {test} ({KNOWN.get(test, 'NOT a known skip: see tests/skips.py')})")


@pytest.fixture(scope="session")
def anyio_backend() -> str:
    """Run async tests on asyncio, as the service does."""
    return "asyncio"


@pytest.fixture(scope="session")
def cluster(pytestconfig: pytest.Config) -> Iterator[Cluster]:
    """Give a PostgreSQL server whose durable settings are on."""
    with started(on_disk=False) as server:
        pytestconfig.stash[SERVER] = server.name
        yield server


@pytest.fixture(scope="session")
def template(cluster: Cluster) -> Iterator[Template]:
    """Give the migrated database that every test's database is a clone of."""
    with made_template(cluster) as made:
        yield made


@pytest.fixture
def database(template: Template) -> Iterator[Database]:
    """Give a migrated database that is the test's own."""
    with cloned(template) as clone:
        yield clone


@pytest.fixture
def empty_database(cluster: Cluster) -> Iterator[Database]:
    """Give a database of the test's own without a single migration; its app role does not exist yet."""
    with empty(cluster) as made:
        yield made


@pytest.fixture
def owner_url(database: Database) -> str:
    """Give the URL for the role that owns the tables, as MIGRATION_DATABASE_URL."""
    return database.owner_url


@pytest.fixture
def app_url(database: Database) -> str:
    """Give the URL for the role that serves, as DATABASE_URL."""
    return database.app_url


@pytest.fixture
async def connection(app_url: str) -> AsyncIterator[psycopg.AsyncConnection]:
    """Give a connection as the app role."""
    async with await psycopg.AsyncConnection.connect(app_url) as opened:
        yield opened


@pytest.fixture
async def owner_connection(owner_url: str) -> AsyncIterator[psycopg.AsyncConnection]:
    """Give a connection as the owner role."""
    async with await psycopg.AsyncConnection.connect(owner_url) as opened:
        yield opened
