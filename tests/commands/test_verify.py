import json

import psycopg
import pytest

from service.commands import main
from tests.commands.line import Run, key_made, made, posted, trained
from tests.databases.clone import Database


def two_firms(respirators: Run, database: Database) -> None:
    """Make two firms with an event of free text and one without each."""
    for name in ("Northgate", "Southgate"):
        organisation = made(respirators, name)
        key = key_made(respirators, database, organisation)
        receipts = posted(database, organisation, key, [trained("p-2", remark="course at the works"), trained("p-3")])
        assert [receipt.seq for receipt in receipts] == [1, 2]


def tampered(database: Database, name: str) -> None:
    """Change who said the second event of a firm, as only the owner can."""
    with psycopg.connect(database.owner_url) as owner:
        row = owner.execute("SELECT organisation FROM ledger.organisation WHERE name = %s", [name]).fetchone()
        assert row is not None
        owner.execute("SELECT set_config('ledger.organisation', %s, true)", [str(row[0])])
        owner.execute("ALTER TABLE ledger.event DISABLE TRIGGER USER")
        owner.execute("UPDATE ledger.event SET by_ref = 'p-9' WHERE seq = 2")
        for trigger in ("event_rows_never_change", "event_never_changes"):
            owner.execute(f"ALTER TABLE ledger.event ENABLE ALWAYS TRIGGER {trigger}".encode())


def test_every_organisation_is_verified(respirators: Run, database: Database) -> None:
    """Without a name all are verified, and each says how much was looked at."""
    two_firms(respirators, database)
    code, out, err = respirators("verify")
    assert (code, out.splitlines()) == (
        0,
        [
            "Northgate: events verified: 2, texts: 1, differences: 0",
            "Southgate: events verified: 2, texts: 1, differences: 0",
        ],
    )
    assert "Verifying: 2 of 2 events" in err


def test_difference_is_named_and_ends_with_1(respirators: Run, database: Database) -> None:
    """A changed column is told with its place and both words, and the others are still verified."""
    two_firms(respirators, database)
    tampered(database, "Northgate")
    code, out, _ = respirators("verify")
    assert (code, out.splitlines()) == (
        1,
        [
            'Northgate: seq 2: by_ref: the column says "p-9", the body "p-1"',
            "Northgate: events verified: 2, texts: 1, differences: 1",
            "Southgate: events verified: 2, texts: 1, differences: 0",
        ],
    )
    assert respirators("verify", "--organisation", "Southgate")[0] == 0


def test_differences_can_be_read_by_a_program(respirators: Run, database: Database) -> None:
    """As JSON every difference is an object of a line, and the last line is the sum."""
    two_firms(respirators, database)
    tampered(database, "Northgate")
    code, out, _ = respirators("verify", "--organisation", "Northgate", "--json")
    assert (code, [json.loads(line) for line in out.splitlines()]) == (
        1,
        [
            {
                "organisation": "Northgate",
                "seq": 2,
                "what": "by_ref",
                "detail": 'the column says "p-9", the body "p-1"',
            },
            {"organisation": "Northgate", "events": 2, "texts": 1, "faults": 1},
        ],
    )


def test_verifying_needs_the_owner(app_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the serving role's URL alone nothing is verified."""
    monkeypatch.delenv("MIGRATION_DATABASE_URL", raising=False)
    monkeypatch.setenv("DATABASE_URL", app_url)
    assert main(("verify",)) == 1
