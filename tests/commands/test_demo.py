import re
from collections.abc import Callable, Iterator
from datetime import datetime

import msgspec
import psycopg
import pytest

from seed import load
from seed.scenario import Scenario, scenario
from service.commands import issued_keys, main, up
from service.commands.owner import find_organisation, owner
from service.serving import run as run_async
from service.settings import Settings
from tests.commands.test_serve import serving
from tests.databases.clone import Database

POSTED = 400


@pytest.fixture(scope="module")
def beginning() -> Scenario:
    """Give the first messages of the demo alone."""
    whole = scenario(datetime.fromisoformat("2026-11-25T12:00:00+00:00"))
    return msgspec.structs.replace(whole, deliveries=whole.deliveries[:POSTED])


@pytest.fixture
def address(database: Database, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Give the address of a service with an organisation, and let commands work on its database."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    monkeypatch.delenv("DATABASE_URL", raising=False)
    assert main(("organisation", "create", "Varrowby")) == 0
    with serving(DATABASE_URL=database.app_url) as (_, where):
        yield where


def playing(story: Scenario) -> Callable[[datetime, int], Scenario]:
    """Give what plays that story whatever is asked for."""
    return lambda _end, _seed: story


def test_demo_is_loaded_once(
    address: str,
    beginning: Scenario,
    owner_url: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The messages are posted, the saved summaries hold, the keys used are revoked, and a second call posts nothing."""
    monkeypatch.setattr(load, "scenario", playing(beginning))
    command = ("demo", "--organisation", "Varrowby", "--address", address)
    assert main(command) == 0
    told = capsys.readouterr()
    assert f"Posting: {POSTED} of {POSTED} messages" in told.err
    assert re.fullmatch(rf"{POSTED} messages in \S+ s, \S+ a second: {POSTED} answered 201\.\n", told.out)
    assert "Asking the 50 summaries saved meanwhile again, one after another; this ends by itself" in told.err
    assert "50 of 50 saved summaries are equal byte for byte" in told.err
    with psycopg.connect(owner_url) as connection:
        organisation = connection.execute("SELECT organisation FROM ledger.organisation").fetchone()
        assert organisation is not None
        connection.execute("SELECT set_config('ledger.organisation', %s, true)", (str(organisation[0]),))
        counted = connection.execute("SELECT count(*) FROM ledger.event").fetchone()
        live = connection.execute("SELECT count(*) FROM ledger.api_key WHERE revoked_at IS NULL").fetchone()
    assert counted == (POSTED,)
    assert live == (0,)
    assert main(command) == 0
    assert capsys.readouterr().err == "The demo is loaded already.\n"


def test_interrupted_load_is_taken_up_again(
    address: str, beginning: Scenario, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What stops the load is told and ends it with 1; the next call posts the rest, and meets what is there already."""
    last = beginning.deliveries[-1]
    wrong = msgspec.structs.replace(last, expects="rejected")
    command = ("demo", "--organisation", "Varrowby", "--address", address)
    monkeypatch.setattr(
        load, "scenario", playing(msgspec.structs.replace(beginning, deliveries=(*beginning.deliveries[:-1], wrong)))
    )
    assert main(command) == 1
    assert "The demo stopped: rejected was expected of" in capsys.readouterr().err
    monkeypatch.setattr(load, "scenario", playing(beginning))
    assert main(command) == 0
    assert f"a second: {POSTED} answered 200." in capsys.readouterr().out


async def loaded_by_child(settings: Settings, address: str) -> bool:
    """Have the demo loaded as `up` does."""
    child = await up._demo(settings, address)
    await up._posted(child)
    return await up._came_out(child)


def test_up_hands_the_demo_to_a_process_of_its_own(
    address: str, database: Database, capfd: pytest.CaptureFixture[str]
) -> None:
    """The child is told where database and service are, and what becomes of it is known: here that nothing is to do."""
    settings = Settings(database_url=database.app_url, migration_database_url=database.owner_url)

    async def end_a_key_of_the_demo() -> None:
        async with owner(settings) as conn:
            organisation = await find_organisation(conn, "Varrowby")
        await issued_keys.make(settings, organisation, issued_keys.DEMO, [("manager", None)])
        await issued_keys.end(settings, organisation, issued_keys.DEMO)

    run_async(end_a_key_of_the_demo())
    assert run_async(loaded_by_child(settings, address)) is True
    told = capfd.readouterr()
    assert told.out == ""
    assert "The demo is loaded already." in told.err


def test_demo_that_cannot_be_loaded_is_known(database: Database, capfd: pytest.CaptureFixture[str]) -> None:
    """Where the child fails, here for want of the organisation, that is told and known."""
    settings = Settings(database_url=database.app_url, migration_database_url=database.owner_url)
    assert run_async(loaded_by_child(settings, "http://127.0.0.1:9")) is False
    assert "there is no organisation 'Varrowby'" in capfd.readouterr().err
