"""Output that a program reads: one JSON object a line."""

from typing import Any

import msgspec
import pytest

from service.commands import main
from tests.commands.line import Run, key_made, made, posted, said
from tests.databases.clone import Database

ORGANISATION = ("--organisation", "Northgate")
TRAINED = {"person": "p-2", "competences": ["wear"], "remark": "passed at once"}
DATA = (
    ("organisation", "create"),
    ("organisation", "list"),
    ("key", "create"),
    ("key", "list"),
    ("summary",),
    ("rebuild",),
    ("verify",),
    ("prune",),
    ("simulate",),
    ("erase", "texts"),
    ("erase", "rejected"),
)


def told(out: str) -> list[dict[str, Any]]:
    """Read every line of an output."""
    return [msgspec.json.decode(line) for line in out.splitlines()]


def test_organisations_are_given_as_json(respirators: Run) -> None:
    """Making one gives its id, and the list gives all by name."""
    code, out, err = respirators("organisation", "create", "Northgate", "--administrator-person", "p-1", "--json")
    assert (code, err) == (0, "")
    [made_one] = told(out)
    assert (made_one["name"], made_one["person"], made_one["seq"]) == ("Northgate", "p-1", 1)
    respirators("organisation", "create", "Aldgate")
    code, out, _ = respirators("organisation", "list", "--json")
    assert [one["name"] for one in told(out)] == ["Aldgate", "Northgate"]
    assert told(out)[1]["organisation"] == made_one["organisation"]
    code, out, _ = respirators("organisation", "list")
    assert out.splitlines()[1] == f"{made_one['organisation']} Northgate"


def test_keys_are_given_as_json(respirators: Run) -> None:
    """A new key comes with its id, and the list never with the key itself; sites are null where it goes to all."""
    made(respirators, "Northgate")
    code, out, _ = respirators("key", "create", *ORGANISATION, "--role", "manager", "--json")
    [new] = told(out)
    assert code == 0
    assert new["key"].startswith("rl_")
    assert (new["role"], new["sites"], new["expires_at"]) == ("manager", None, None)
    respirators(
        "key", "create", *ORGANISATION, "--role", "site-app", "--site", "harrow-dock", "--expires", "2099-01-01"
    )
    code, out, _ = respirators("key", "list", *ORGANISATION, "--json")
    first, second = told(out)
    assert code == 0
    assert (first["id"], first["role"], first["sites"], first["revoked_at"]) == (new["id"], "manager", None, None)
    assert (second["sites"], second["expires_at"]) == (["harrow-dock"], "2099-01-02T00:00:00Z")
    assert new["key"] not in out


def test_rebuild_and_prune_are_told_as_json(respirators: Run, database: Database) -> None:
    """What would differ is a line each and then their number; what was read and erased is a number."""
    organisation = made(respirators, "Northgate")
    posted(database, organisation, key_made(respirators, database, organisation), [said("trained", **TRAINED)])
    code, out, _ = respirators("rebuild", *ORGANISATION, "--check", "--json")
    assert (code, told(out)) == (0, [{"differences": 0}])
    code, out, _ = respirators("rebuild", *ORGANISATION, "--json")
    assert (code, told(out)) == (0, [{"events": 1}])
    code, out, _ = respirators("prune", "--json")
    assert (code, told(out)) == (0, [{"organisation": "Northgate", "erased": 0}])


def test_erased_texts_are_told_as_json(respirators: Run, database: Database) -> None:
    """Each place of a text that was erased is a line."""
    organisation = made(respirators, "Northgate")
    key = key_made(respirators, database, organisation)
    [receipt] = posted(database, organisation, key, [said("trained", **TRAINED)])
    code, out, _ = respirators("erase", "texts", *ORGANISATION, "--person", "p-2", "--json")
    assert (code, told(out)) == (0, [{"event": str(receipt.id), "path": "remark"}])


def test_erased_messages_are_told_as_json(respirators: Run, database: Database) -> None:
    """Each rejected message whose body was erased is a line, with what is still known of it."""
    organisation = made(respirators, "Northgate")
    key = key_made(respirators, database, organisation)
    [receipt] = posted(database, organisation, key, [said("worn", asset="FX-1", wearer="p-2")])
    code, out, _ = respirators("erase", "rejected", *ORGANISATION, "--message", str(receipt.rejected), "--json")
    [one] = told(out)
    assert code == 0
    assert (one["id"], one["state"], one["kind"], one["tag"]) == (str(receipt.rejected), "open", "worn", "FX-1")


def test_json_and_words_are_not_mixed(capsys: pytest.CaptureFixture[str]) -> None:
    """Every command whose output is data says in its help that it can give JSON."""
    for words in DATA:
        with pytest.raises(SystemExit):
            main((*words, "--help"))
        assert "--json" in capsys.readouterr().out
