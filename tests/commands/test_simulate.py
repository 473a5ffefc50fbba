from collections.abc import Iterator
from typing import NamedTuple

import msgspec
import pytest

from seed.simulation.faults import FAULTS
from seed.simulation.truth import Stands, Truth
from service.commands import main
from service.serving import run as run_async
from tests.commands.test_serve import serving
from tests.databases.clone import Template, cloned
from tests.http.conftest import made_firms

SMALL = ("--sites", "3", "--assets", "12", "--days", "2")


class Elsewhere(NamedTuple):
    """A service that runs already, and two keys of it."""

    address: str
    administrator: str
    manager: str


@pytest.fixture(scope="module")
def elsewhere(template: Template) -> Iterator[Elsewhere]:
    """Run one service for all simulations that are made elsewhere: each has names of its own."""

    async def keys(owner_url: str) -> list[str]:
        async with made_firms(owner_url) as making:
            made = [await making.make(role) for role in ("administrator", "manager")]
        return [headers["authorization"].removeprefix("Bearer ") for headers in made]

    with cloned(template) as database, serving(DATABASE_URL=database.app_url) as (_, address):
        yield Elsewhere(address, *run_async(keys(database.owner_url)))


@pytest.fixture
def there(elsewhere: Elsewhere, monkeypatch: pytest.MonkeyPatch) -> tuple[str, ...]:
    """Give the arguments for a small simulation there; the administrator's key is in the environment."""
    monkeypatch.setenv("RESPIRATORS_KEY", elsewhere.administrator)
    return ("simulate", *SMALL, "--address", elsewhere.address)


def test_simulation_by_itself_finds_no_difference(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With nothing but the package: a database and a service of its own, every fault, every check, no difference."""
    monkeypatch.setenv("DATABASE_URL", "postgresql://nobody@127.0.0.1:9/none")  # what is set elsewhere is not touched
    assert main(("simulate", *SMALL, "--workers", "1", "--json")) == 0
    told = msgspec.json.decode(capsys.readouterr().out)
    assert (told["sites"], told["assets"], told["days"], told["seed"]) == (3, 12, 2, 20)
    assert told["faults"] == sorted(FAULTS)
    assert (told["differing"], told["differences"]) == (0, [])
    assert len(told["verified"]) == 6
    assert [told["verified"][name] for name in told["verified"] if name.startswith(("events", "units as they"))] == [
        told["events"],
        12,
    ]
    assert told["requests"] > told["counts"]["hung up"] > 0
    assert told["counts"]["repeated"] > 0
    assert told["late_hours"][1] > told["late_hours"][0] > 0


def test_simulation_elsewhere_prints_its_report(there: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """At a service that runs already everything is posted with the one key; the report is a table."""
    code, (out, err) = main((*there, "--faults", "none")), capsys.readouterr()
    assert code == 0, out
    rows = [[cell.strip() for cell in line.strip("│┃").split("│")] for line in out.splitlines() if "│" in line]
    assert rows[0] == ["sites, units, whole days, seed", "3, 12, 2, 20"]
    assert ["faults", "none"] in rows
    assert ["verified: units as they are now", "12"] in rows
    assert rows[-1] == ["differences", "0"]
    assert err.startswith("Making up what happens.\n")
    assert "Posting: " in err


def test_a_lie_is_noticed(
    there: tuple[str, ...], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A truth that says one unit is missing is contradicted by the service: the unit is named, and the end is 1."""
    truth = Truth.now

    def lie(self: Truth, tag: str) -> Stands:
        told = truth(self, tag)
        return msgspec.structs.replace(told, phase="missing") if tag.endswith("-00004") else told

    monkeypatch.setattr(Truth, "now", lie)
    assert main((*there, "--faults", "none")) == 1
    differences = [line for line in capsys.readouterr().out.splitlines() if line.startswith("differs: ")]
    assert len(differences) == 2
    assert "-00004: phase is 'missing', told is " in differences[0]
    assert "'missing': 1" in differences[1]


def test_simulation_ends_in_time(there: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """What is not done within the seconds that it may take is given up, with how far it came."""
    assert main((*there, "--sites", "20", "--assets", "2000", "--seconds", "1")) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert f"respirators: {there[-1]}: not done within 1 s: " in told.err
    assert "messages were acknowledged" in told.err


def test_a_key_that_may_not_define_is_said(
    there: tuple[str, ...], elsewhere: Elsewhere, capsys: pytest.CaptureFixture[str]
) -> None:
    """With a key of another role nothing is simulated, and the service's reason is passed on."""
    assert main((*there, "--key", elsewhere.manager)) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "what defines the simulated firm was refused with 403: " in told.err


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--sites", "501", "--assets", "600"), "sites: from 1 to 500 can be simulated, not 501"),
        (
            ("--faults", "fire"),
            "'fire' is none of offline, duplicate, reorder, drift, ahead, reset, lost, cut, shift-start, all and none",
        ),
        (("--seconds", "0"), "seconds: from 1 to 3,600, not 0"),
        (("--address", "http://127.0.0.1:9"), "a key of the service is needed: set RESPIRATORS_KEY"),
    ],
    ids=["sites", "faults", "seconds", "key"],
)
def test_what_cannot_be_simulated_is_said(
    asked: tuple[str, ...], told: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Out of bounds, unknown, or without a key: a sentence says so, and nothing is started."""
    monkeypatch.delenv("RESPIRATORS_KEY", raising=False)
    assert main(("simulate", *asked)) == 1
    assert capsys.readouterr().err.splitlines()[-1] == f"respirators: {told}"


def test_a_service_that_does_not_answer_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """Where nothing listens the command says so and ends with 1."""
    assert main(("simulate", *SMALL, "--address", "http://127.0.0.1:9", "--key", "rl_none")) == 1
    assert "respirators: http://127.0.0.1:9: " in capsys.readouterr().err
