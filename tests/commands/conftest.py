"""The command line, working on the test's database."""

import pytest

from service.commands import main
from tests.commands.line import Run
from tests.databases.clone import Database


@pytest.fixture
def respirators(database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Give the command line, working on the test's database as its owner; it answers code, output and error output."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setenv("COLUMNS", "200")

    def run(*arguments: str) -> tuple[int, str, str]:
        code = main(arguments)
        told = capsys.readouterr()
        return code, told.out, told.err

    return run
