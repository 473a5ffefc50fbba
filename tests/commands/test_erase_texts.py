from uuid import UUID, uuid4

import psycopg
import pytest

from service.commands import main
from tests.commands.line import Run, key_made, made, posted, said, trained
from tests.databases.clone import Database


@pytest.fixture
def firm(respirators: Run, database: Database) -> list[UUID]:
    """Make a firm with four events, three of them with free text; give their ids."""
    organisation = made(respirators, "Northgate")
    key = key_made(respirators, database, organisation)
    messages = [
        trained("p-2", remark="fell asleep"),
        trained("p-22", remark="passed at once"),
        said("medically-cleared", person="p-3", by="p-2", remark="seen on Monday"),
        trained("p-2"),
    ]
    receipts = posted(database, organisation, key, messages)
    assert [receipt.status for receipt in receipts] == [201, 201, 201, 201]
    return [receipt.id for receipt in receipts if receipt.id is not None]


def kept(database: Database) -> set[str]:
    """Read the texts that are kept, of whatever organisation."""
    with psycopg.connect(database.owner_url) as owner:
        row = owner.execute("SELECT organisation FROM ledger.organisation").fetchone()
        assert row is not None
        owner.execute("SELECT set_config('ledger.organisation', %s, true)", [str(row[0])])
        return {text for (text,) in owner.execute("SELECT text FROM ledger.free_text").fetchall()}


def test_texts_of_an_event_are_erased(respirators: Run, database: Database, firm: list[UUID]) -> None:
    """The text of the event is gone, the others stay, and the log is proved as before."""
    code, out, _ = respirators("erase", "texts", "--organisation", "Northgate", "--event", str(firm[1]))
    assert (code, out) == (0, f"event {firm[1]}: remark\ntexts erased: 1\n")
    assert kept(database) == {"fell asleep", "seen on Monday"}
    code, out, _ = respirators("verify")
    assert (code, out) == (0, "Northgate: events verified: 4, texts: 2, differences: 0\n")


def test_texts_of_a_person_are_erased(respirators: Run, database: Database, firm: list[UUID]) -> None:
    """Whatever names the person loses its text, by whomever it is; a longer reference is another person."""
    code, out, _ = respirators("erase", "texts", "--organisation", "Northgate", "--person", "p-2")
    gone = sorted((firm[0], firm[2]))
    assert (code, out) == (0, f"event {gone[0]}: remark\nevent {gone[1]}: remark\ntexts erased: 2\n")
    assert kept(database) == {"passed at once"}
    assert respirators("verify")[0] == 0


@pytest.mark.parametrize("what", [("--event", str(uuid4())), ("--person", "p-9")])
@pytest.mark.usefixtures("firm")
def test_nothing_to_erase_is_told(respirators: Run, database: Database, what: tuple[str, str]) -> None:
    """Where nothing is kept the command ends with 1, so that a slip of the pen is seen."""
    code, _, err = respirators("erase", "texts", "--organisation", "Northgate", *what)
    assert (code, err) == (1, "respirators: nothing of that is kept: it was erased before, or never was\n")
    assert len(kept(database)) == 3


@pytest.mark.parametrize(
    "what", [(), ("--event", "FX-1"), ("--person", "p 2"), ("--person", "p-2", "--event", str(uuid4()))]
)
def test_what_is_erased_is_said_in_one_way(what: tuple[str, ...]) -> None:
    """An event or a person is named, and only one of them."""
    with pytest.raises(SystemExit) as ended:
        main(("erase", "texts", "--organisation", "Northgate", *what))
    assert ended.value.code == 2
