from typing import LiteralString

import psycopg
import pytest

from service.commands import main
from tests.databases.clone import PASSWORD, Database

pytestmark = pytest.mark.usefixtures("owner_alone")


@pytest.fixture
def owner_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no database of the caller's be taken for the test's."""
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.delenv("MIGRATION_DATABASE_URL", raising=False)


def test_migrating_makes_the_schema_and_lets_the_serving_role_in(
    empty_database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After it the role of DATABASE_URL can connect with its password and read; a second run changes nothing."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", empty_database.owner_url)
    monkeypatch.setenv("DATABASE_URL", empty_database.app_url)
    assert PASSWORD in empty_database.app_url
    assert main(("migrate",)) == 0
    assert main(("migrate",)) == 0
    with psycopg.connect(empty_database.app_url) as connection:
        assert connection.execute("SELECT count(*) FROM ledger.event").fetchone() == (0,)


def test_migrating_needs_the_owner(
    database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the serving role's URL alone nothing is migrated."""
    monkeypatch.setenv("DATABASE_URL", database.app_url)
    assert main(("migrate",)) == 1
    assert "set MIGRATION_DATABASE_URL" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ("UPDATE ledger.alembic_version SET version_num = '0000_early'", "Can't locate revision"),
        ("UPDATE ledger.alembic_version SET version_num = 'ledger_00000000'", "Can't locate revision"),
        ("DROP TABLE ledger.free_text CASCADE", "does not exist"),
    ],
    ids=["revision", "first", "table"],
)
def test_schema_of_another_version_is_told_in_a_sentence(
    change: LiteralString,
    what: str,
    database: Database,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A schema that no migration starts from, or that is not what its revision says, ends with 1 and a way out."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    with psycopg.connect(database.owner_url) as connection:
        connection.execute(change)
    assert main(("migrate",)) == 1
    told = capsys.readouterr().err
    assert told.startswith("respirators: the database was made by another version of this program")
    assert what in told
    assert "--data" in told


def test_what_other_rules_derived_is_rebuilt(
    database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where rules or time zones have changed since, migrating rebuilds; where they have not, it does not."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    monkeypatch.setenv("DATABASE_URL", database.app_url)
    assert main(("organisation", "create", "Northgate", "--administrator-person", "p-0001")) == 0
    capsys.readouterr()
    assert main(("migrate",)) == 0
    assert "Rebuil" not in capsys.readouterr().out
    with psycopg.connect(database.owner_url) as connection:
        row = connection.execute("SELECT organisation FROM ledger.organisation").fetchone()
        assert row is not None
        connection.execute("SELECT set_config('ledger.organisation', %s, true)", (str(row[0]),))
        changed = connection.execute("UPDATE ledger.generation SET tzdata_version = '1999a'")
        assert changed.rowcount == 1
    assert main(("migrate",)) == 0
    told = capsys.readouterr().out
    assert "Rebuilding what was derived" in told
    assert "Rebuilt from 1 events." in told
    assert main(("migrate",)) == 0
    assert "Rebuil" not in capsys.readouterr().out


def test_first_person_is_competent_by_an_event(
    database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first competences are an event of the log, under a key that is good for nothing afterwards."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    command = (
        "organisation",
        "create",
        "Northgate",
        "--administrator-person",
        "p-0001",
        "--competences",
        "examine,release",
    )
    assert main(command) == 0
    assert capsys.readouterr().out.splitlines()[1:] == ["p-0001: examine, release (seq 1)"]
    with psycopg.connect(database.owner_url) as connection:
        row = connection.execute("SELECT organisation FROM ledger.organisation").fetchone()
        assert row is not None
        connection.execute("SELECT set_config('ledger.organisation', %s, true)", (str(row[0]),))
        events = connection.execute("SELECT seq, kind, by_ref, conflicts, key FROM ledger.event").fetchall()
        keys = connection.execute("SELECT id, role, revoked_at IS NOT NULL FROM ledger.api_key").fetchall()
    assert [(seq, kind, by) for seq, kind, by, _, _ in events] == [(1, "trained", "service-owner")]
    assert events[0][3] == b"[]"
    assert keys == [(events[0][4], "administrator", True)]
