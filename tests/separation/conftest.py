"""The world of two firms, made once for all tests of separation, and the log that is written meanwhile."""

from collections.abc import AsyncIterator, Iterator

import pytest

from tests.databases.clone import Template, cloned
from tests.separation.log import Log, written
from tests.separation.world import World, made


@pytest.fixture(scope="package")
def log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Log]:
    """Give the log, written as in production."""
    with written(tmp_path_factory.mktemp("log") / "log") as log:
        yield log


@pytest.fixture(scope="package")
async def world(template: Template, log: Log) -> AsyncIterator[World]:  # noqa: ARG001 - which begins before the world
    """Give two firms, their keys and a client of the whole service."""
    with cloned(template) as clone:
        async with made(clone) as world:
            yield world


@pytest.fixture(autouse=True)
def _silent(log: Log) -> Iterator[None]:
    """Fail a test while which the log was told a mark or a key."""
    yield
    log.read()
    assert not log.told(), "the log holds what it must not"
