import re
from uuid import UUID

import psycopg
import pytest

from service.commands import main
from service.serving import run as run_async
from service.store.connecting import connect
from service.store.find_key import FoundKey, find_key
from service.store.key_secret import key_hash
from tests.commands.line import Run


def as_found(app_url: str, printed: str) -> FoundKey:
    """Find a printed key as the serving role does."""

    async def find() -> FoundKey | None:
        async with await connect(app_url) as conn:
            return await find_key(conn, key_hash(printed.strip()) or b"")

    found = run_async(find())
    assert found is not None
    return found


def test_organisation_is_made_once(respirators: Run) -> None:
    """A new organisation gets an id; a second one of its name is refused."""
    code, out, _ = respirators("organisation", "create", "Northgate Fabrication")
    assert code == 0
    assert re.fullmatch(r"organisation Northgate Fabrication: [0-9a-f-]{36}\n", out)
    code, out, err = respirators("organisation", "create", "Northgate Fabrication")
    assert (code, out) == (1, "")
    assert err == "respirators: there is an organisation 'Northgate Fabrication' already\n"


def test_key_is_good_for_what_it_was_made_for(respirators: Run, app_url: str) -> None:
    """The key printed is found by the serving role, bound to its organisation, role, sites and end."""
    _, out, _ = respirators("organisation", "create", "Northgate")
    organisation = UUID(out.split()[-1])
    code, out, err = respirators(
        *("key", "create", "--organisation", "Northgate", "--role", "site-app", "--name", "kiosks"),
        *("--site", "harrow-dock", "--site", "harrow-yard", "--expires", "2099-06-30"),
    )
    unknown = "No site {!r} is defined yet; until one is, the key sees nothing there.\n"
    assert code == 0
    assert err == f"{unknown.format('harrow-dock')}{unknown.format('harrow-yard')}This is the only time it is shown:\n"
    found = as_found(app_url, out)
    assert (found.organisation, found.role, found.name) == (organisation, "site-app", "kiosks")
    assert found.sites == ["harrow-dock", "harrow-yard"]
    assert found.expires_at is not None
    assert found.expires_at.isoformat() == "2099-07-01T00:00:00+00:00"
    assert found.revoked_at is None


def test_key_itself_is_stored_nowhere(respirators: Run, owner_url: str) -> None:
    """The text of a key stands in no column of its row; its hash does."""
    respirators("organisation", "create", "Northgate")
    _, out, _ = respirators("key", "create", "--organisation", "Northgate", "--role", "manager")
    with psycopg.connect(owner_url) as connection:
        row = connection.execute("SELECT k::text FROM ledger.api_key k").fetchone()
    assert row is not None
    assert out.strip() not in row[0]
    assert out.strip()[3:33] not in row[0]
    secret_hash = key_hash(out.strip())
    assert secret_hash is not None
    assert secret_hash.hex() in row[0]


def test_revoked_key_stays_listed(respirators: Run, app_url: str) -> None:
    """A revoked key is still shown, with its end, and cannot be revoked again."""
    respirators("organisation", "create", "Northgate")
    _, out, _ = respirators("key", "create", "--organisation", "Northgate", "--role", "auditor")
    before = as_found(app_url, out)
    code, told, _ = respirators("key", "revoke", "--organisation", "Northgate", str(before.id))
    assert (code, told) == (0, f"revoked {before.id}\n")
    assert as_found(app_url, out).revoked_at is not None
    code, _, err = respirators("key", "revoke", "--organisation", "Northgate", str(before.id))
    assert (code, err) == (1, f"respirators: there is no live key {before.id}; `key list` shows them\n")
    code, out, _ = respirators("key", "list", "--organisation", "Northgate")
    assert code == 0
    assert str(before.id) in out
    assert "auditor" in out
    assert "all" in out
    assert "revoked 2" in out


def test_a_list_that_is_sent_on_is_cut_nowhere(respirators: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no terminal reads it each key is one line with its role, sites and name whole, however wide that is."""
    monkeypatch.setenv("COLUMNS", "60")
    respirators("organisation", "create", "Northgate")
    sites = [f"a-yard-with-a-long-name-{nth}" for nth in range(20)]
    narrowed = [word for site in sites for word in ("--site", site)]
    made = ("key", "create", "--organisation", "Northgate", "--role", "worker-representative", "--name", "n" * 100)
    assert respirators(*made, *narrowed)[0] == 0
    code, out, _ = respirators("key", "list", "--organisation", "Northgate")

    assert code == 0
    [line] = [line for line in out.splitlines() if "worker-representative" in line]
    assert ", ".join(sites) in line
    assert "n" * 100 in line


def test_unknown_organisation_is_told_with_those_there_are(respirators: Run) -> None:
    """A name that is not there is refused, with the names that are."""
    respirators("organisation", "create", "Northgate")
    code, _, err = respirators("key", "list", "--organisation", "Southgate")
    assert (code, err) == (1, "respirators: there is no organisation 'Southgate'. There are: Northgate\n")


def test_key_of_one_organisation_is_out_of_anothers_reach(respirators: Run, owner_url: str) -> None:
    """Naming the wrong organisation revokes nothing, though the id is right."""
    respirators("organisation", "create", "Northgate")
    respirators("organisation", "create", "Southgate")
    respirators("key", "create", "--organisation", "Northgate", "--role", "manager")
    with psycopg.connect(owner_url) as connection:
        row = connection.execute("SELECT id FROM ledger.api_key").fetchone()
    assert row is not None
    code, _, err = respirators("key", "revoke", "--organisation", "Southgate", str(row[0]))
    assert (code, err) == (1, f"respirators: there is no live key {row[0]}; `key list` shows them\n")


def test_owner_is_needed(respirators: Run, app_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the serving role's URL alone no key and no organisation can be made."""
    monkeypatch.delenv("MIGRATION_DATABASE_URL")
    monkeypatch.setenv("DATABASE_URL", app_url)
    code, _, err = respirators("organisation", "create", "Northgate")
    assert code == 1
    assert err == "respirators: this is done as the owner of the tables: set MIGRATION_DATABASE_URL\n"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--role", "king"), "invalid choice: 'king'"),
        (("--role", "manager", "--site", "Harrow Dock"), "'Harrow Dock' is no reference"),
        (("--role", "manager", "--expires", "2027-06-30T12:00:00"), "has no offset"),
        (
            ("--role", "manager", "--expires", "tomorrow"),
            "write a date such as 2026-12-31, or 2026-12-31T18:00:00+00:00",
        ),
        (("--role", "manager", "--expires", "2020-01-01"), "is past: write a moment that is still"),
    ],
)
def test_wrong_argument_is_named(arguments: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A command that is not understood ends with 2 and a word on what was wrong."""
    with pytest.raises(SystemExit) as ended:
        main(("key", "create", "--organisation", "Northgate", *arguments))
    assert ended.value.code == 2
    assert told in capsys.readouterr().err
