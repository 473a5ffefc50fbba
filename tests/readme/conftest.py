"""A shell beside a running service, as the README's reader has it after `up`."""

import os
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.bootstrap import ROOT
from service.commands import main
from tests.commands.test_serve import serving
from tests.databases.clone import Database
from tests.http.firm import WEBHOOK_KEY
from tests.readme.firm import define

EXAMINER = "p-1102"
"""Whom the demo has examine at Harrow Dock."""
KEYS = {"SITE_APP": "site-app", "MANAGER": "manager", "INTEGRATOR": "integrator", "ADMINISTRATOR": "administrator"}


@pytest.fixture
def shell(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[dict[str, str]]:
    """Give the environment of a shell beside a service that has what `up` leaves behind, but for the demo's year."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    monkeypatch.delenv("DATABASE_URL", raising=False)
    assert main(("organisation", "create", "Varrowby", "--administrator-person", EXAMINER)) == 0
    keys = {variable: made_key(role, capsys) for variable, role in KEYS.items()}
    (tmp_path / ".curlrc").write_text('write-out = "%{stderr}%{http_code}\\n"\n')
    python = tmp_path / "bin" / "python3"
    python.parent.mkdir()
    python.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} "$@"\n')
    python.chmod(0o755)
    with serving(DATABASE_URL=database.app_url, RESPIRATORS_WEBHOOK_KEY=WEBHOOK_KEY) as (_, address):
        define(address, keys["ADMINISTRATOR"])
        path = f"{python.parent}:{os.environ['PATH']}"
        yield {"PATH": path, "PYTHONPATH": str(ROOT), "CURL_HOME": str(tmp_path), "BASE": address, **keys}


def made_key(role: str, capsys: pytest.CaptureFixture[str]) -> str:
    """Make a key as `up` does."""
    bound = ("--site", "harrow-dock") if role == "site-app" else ()
    capsys.readouterr()
    assert main(("key", "create", "--organisation", "Varrowby", "--role", role, *bound)) == 0
    return capsys.readouterr().out.strip()
