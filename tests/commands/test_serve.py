import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

import httpx
import pytest
import structlog

from service.bootstrap import ROOT
from service.commands import main
from tests.commands.test_up import MAIN, bearer
from tests.databases.clone import Database


@pytest.fixture(autouse=True)
def _own_log() -> Iterator[None]:
    """Let the log that a command sets up end with its test."""
    yield
    structlog.reset_defaults()


@contextmanager
def serving(**environment: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run `serve` on a free port; gives the process and its address."""
    kept = {name: value for name, value in os.environ.items() if "DATABASE_URL" not in name}
    with tempfile.TemporaryFile() as log, subprocess.Popen(  # a pipe that nobody reads would fill, and stop the service
        [sys.executable, "-c", MAIN, "serve", "--port", "0"], stdout=subprocess.PIPE, stderr=log, text=True, cwd=ROOT,
        env={**kept, **environment},
    ) as process:  # fmt: skip
        assert process.stdout is not None
        try:
            told = process.stdout.readline()
            assert told.startswith("Serving on http://")
            yield process, told.split()[-1]
        finally:
            process.terminate()


def test_serving_needs_the_serving_role_alone(
    database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With DATABASE_URL and nothing else the service is ready, answers a key, and ends well when asked to."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    assert main(("organisation", "create", "Northgate")) == 0
    capsys.readouterr()
    assert main(("key", "create", "--organisation", "Northgate", "--role", "manager")) == 0
    key = capsys.readouterr().out.strip()
    with serving(DATABASE_URL=database.app_url) as (process, address):
        assert httpx.get(f"{address}/health/ready").status_code == 200
        assert httpx.get(f"{address}/v1/compliance").status_code == 401
        assert httpx.get(f"{address}/v1/compliance", headers=bearer(key)).status_code == 200
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=60) == 0


def test_owner_does_not_serve(
    database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A role that owns the tables is refused before anything listens for it."""
    monkeypatch.setenv("DATABASE_URL", database.owner_url)
    monkeypatch.delenv("MIGRATION_DATABASE_URL", raising=False)
    assert main(("serve", "--port", "0")) == 1
    assert "owns the tables: serve as the app role" in capsys.readouterr().err


def test_unmigrated_database_is_not_served(
    empty_database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A database without the schema is refused with a word on what to do."""
    monkeypatch.setenv("DATABASE_URL", empty_database.owner_url)
    monkeypatch.delenv("MIGRATION_DATABASE_URL", raising=False)
    assert main(("serve", "--port", "0")) == 1
    assert "run the migrations" in capsys.readouterr().err


def test_owners_url_alone_is_not_enough(
    database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody serves as the owner for want of another URL."""
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    assert main(("serve", "--port", "0")) == 1
    assert capsys.readouterr().err == (
        "respirators: set DATABASE_URL to the role that serves; MIGRATION_DATABASE_URL alone is not enough\n"
    )
