from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import psycopg
import pytest

from service.commands import main
from service.commands.prune import pruned
from service.serving import run as run_async
from service.settings import Settings
from tests.commands.line import Run, key_made, made, posted, said
from tests.databases.clone import Database

NEVER = datetime(1999, 1, 1, tzinfo=UTC)


class Firm:
    """An organisation, its key and the rejected messages it has."""

    def __init__(self, respirators: Run, database: Database, name: str) -> None:
        self.database = database
        self.organisation = made(respirators, name)
        self.key = key_made(respirators, database, self.organisation)
        messages = [
            said("worn", asset="FX-1", wearer="p-2", colour="red"),
            said("failed-in-use", asset="FX-1", by="p-2", signs=["on-fire"]),
            said("worn", asset="FX-2", wearer="p-22", colour="red"),
        ]
        receipts = posted(database, self.organisation, self.key, messages)
        self.messages = [receipt.rejected for receipt in receipts if receipt.rejected is not None]
        assert len(self.messages) == 3

    def kept(self) -> list[str]:
        """Say what is kept of each message."""
        with psycopg.connect(self.database.owner_url) as owner:
            owner.execute("SELECT set_config('ledger.organisation', %s, true)", [str(self.organisation)])
            rows = owner.execute("SELECT id, kept FROM ledger.rejected_message").fetchall()
        kept: dict[UUID, str] = dict(rows)
        return [kept[message] for message in self.messages]

    def settle(self, message: UUID, at: datetime) -> None:
        """Have a message dismissed at a moment."""
        with psycopg.connect(self.database.owner_url) as owner:
            owner.execute("SELECT set_config('ledger.organisation', %s, true)", [str(self.organisation)])
            owner.execute(
                "UPDATE ledger.rejected_message SET state = 'dismissed', reason = 'seen', settled_at = %s"
                " WHERE id = %s",
                [at, message],
            )


@pytest.fixture
def firm(respirators: Run, database: Database) -> Firm:
    """Make a firm with three rejected messages, the second a report of a failure."""
    return Firm(respirators, database, "Northgate")


def test_one_message_is_erased(respirators: Run, firm: Firm) -> None:
    """The message named is erased and told by what is still known of it; the others stay."""
    code, out, _ = respirators("erase", "rejected", "--organisation", "Northgate", "--message", str(firm.messages[1]))
    assert (code, out) == (0, f"rejected {firm.messages[1]}: open, failed-in-use, FX-1\nmessages erased: 1\n")
    assert firm.kept() == ["whole", "erased", "whole"]


def test_messages_that_name_a_person_are_erased(respirators: Run, firm: Firm) -> None:
    """Whoever sent them and whatever they were about; a longer reference is another person."""
    code, out, _ = respirators("erase", "rejected", "--organisation", "Northgate", "--person", "p-2")
    assert (code, out.splitlines()[-1]) == (0, "messages erased: 2")
    assert firm.kept() == ["erased", "erased", "whole"]


def test_messages_of_a_key_are_erased(respirators: Run, firm: Firm) -> None:
    """Everything that a key sent in vain is erased."""
    code, out, _ = respirators("erase", "rejected", "--organisation", "Northgate", "--key", str(firm.key))
    assert (code, out.splitlines()[-1]) == (0, "messages erased: 3")
    assert firm.kept() == ["erased", "erased", "erased"]


@pytest.mark.parametrize("what", [("--message", str(uuid4())), ("--key", str(uuid4())), ("--person", "p-9")])
def test_nothing_to_erase_is_told(respirators: Run, firm: Firm, what: tuple[str, str]) -> None:
    """Where nothing is kept the command ends with 1."""
    code, _, err = respirators("erase", "rejected", "--organisation", "Northgate", *what)
    assert (code, err) == (1, "respirators: nothing of that is kept: it was erased before, or never was\n")
    assert firm.kept() == ["whole", "whole", "whole"]


def test_messages_settled_ninety_days_ago_are_pruned(respirators: Run, firm: Firm, database: Database) -> None:
    """What was settled 90 days ago is erased, of every organisation; later settlements and open messages stay."""
    other = Firm(respirators, database, "Southgate")
    now = datetime.now(UTC)
    firm.settle(firm.messages[0], now - timedelta(days=90))
    firm.settle(firm.messages[1], now - timedelta(days=89, hours=23))
    other.settle(other.messages[2], now - timedelta(days=400))
    code, out, _ = respirators("prune")
    assert (code, out) == (0, "Northgate: rejected messages erased: 1\nSouthgate: rejected messages erased: 1\n")
    assert firm.kept() == ["erased", "whole", "whole"]
    assert other.kept() == ["whole", "whole", "erased"]
    code, out, _ = respirators("prune", "--organisation", "Northgate")
    assert (code, out) == (0, "Northgate: rejected messages erased: 0\n")


def test_pruning_goes_on_to_the_end(firm: Firm, database: Database) -> None:
    """However small its transactions are, everything that is due is erased."""
    for message in firm.messages:
        firm.settle(message, NEVER)
    settings = Settings(migration_database_url=database.owner_url)
    assert run_async(pruned(settings, None, datetime.now(UTC), batch=1)) == {"Northgate": 3}
    assert firm.kept() == ["erased", "erased", "erased"]


@pytest.mark.parametrize("what", [(), ("--message", "FX-1"), ("--key", "p-2", "--person", "p-2")])
def test_what_is_erased_is_said_in_one_way(what: tuple[str, ...]) -> None:
    """A message, a key or a person is named, and only one of them."""
    with pytest.raises(SystemExit) as ended:
        main(("erase", "rejected", "--organisation", "Northgate", *what))
    assert ended.value.code == 2
