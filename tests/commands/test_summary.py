import csv
import io
from collections.abc import Iterator

import httpx
import msgspec
import pytest

from service.commands import main
from tests.commands.line import Run, said
from tests.commands.test_serve import serving
from tests.commands.test_up import bearer
from tests.databases.clone import Database

SITES = (("harrow-dock", "north"), ("cedar-flats", "plains"))


@pytest.fixture
def address(database: Database, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[str]:
    """Give the address of a service that knows two sites; its manager's key is in the environment."""
    monkeypatch.setenv("MIGRATION_DATABASE_URL", database.owner_url)
    monkeypatch.delenv("DATABASE_URL", raising=False)
    assert main(("organisation", "create", "Northgate")) == 0
    capsys.readouterr()
    keys = []
    for role in ("administrator", "manager"):
        assert main(("key", "create", "--organisation", "Northgate", "--role", role)) == 0
        keys.append(capsys.readouterr().out.strip())
    with serving(DATABASE_URL=database.app_url) as (_, where):
        for site, region in SITES:
            fields = {"name": site, "region": region, "profile": "uk", "time_zone": "Europe/London"}
            message = said("site-defined", site=site, **fields, **PLACE)
            answer = httpx.post(f"{where}/v1/events", content=message, headers=bearer(keys[0]) | TYPE)
            assert answer.status_code == 201, answer.text
        monkeypatch.setenv("RESPIRATORS_URL", where)
        monkeypatch.setenv("RESPIRATORS_KEY", keys[1])
        yield where


TYPE = {"Content-Type": "application/json"}
PLACE = {
    "employer": {"name": "Northgate", "address": "1 Dock Road"},
    "calendar": {
        "working_days": ["mon"],
        "closed": [],
        "shifts": [{"name": "day", "starts": "08:00", "lasts": "PT8H"}],
    },
}


@pytest.mark.usefixtures("address")
def test_summary_is_printed_as_the_service_gives_it(respirators: Run) -> None:
    """Without a form it is the table of the service, with a line a site; CSV and JSON are the service's too."""
    code, out, err = respirators("summary")
    assert (code, err) == (0, "")
    rows = [line.split()[:2] for line in out.splitlines()]
    assert ["cedar-flats", "uk"] in rows
    assert ["harrow-dock", "uk"] in rows
    assert out.endswith("A unit that fails a check is not used.\n")

    code, out, _ = respirators("summary", "--csv")
    lines = list(csv.DictReader(io.StringIO(out.removeprefix("\ufeff"))))
    assert [line["site"] for line in lines] == ["cedar-flats", "harrow-dock", ""]

    code, out, _ = respirators("summary", "--json")
    assert [site["site"] for site in msgspec.json.decode(out)["sites"]] == ["cedar-flats", "harrow-dock"]


@pytest.mark.usefixtures("address")
def test_summary_is_narrowed_and_dated(respirators: Run) -> None:
    """Site, region and the two clocks go to the service; a date means the end of that day in UTC."""
    _, out, _ = respirators("summary", "--json", "--region", "north")
    assert [site["site"] for site in msgspec.json.decode(out)["sites"]] == ["harrow-dock"]
    _, out, _ = respirators("summary", "--json", "--site", "cedar-flats", "--as-at", "2026-03-02T12:00:00+01:00")
    told = msgspec.json.decode(out)
    assert [site["site"] for site in told["sites"]] == ["cedar-flats"]
    assert told["as_at"] == "2026-03-02T11:00:00Z"
    _, out, _ = respirators("summary", "--json", "--as-at", "2026-03-02T12:00:00Z", "--known-at", "2026-03-02")
    told = msgspec.json.decode(out)
    assert (told["sites"], told["known_at"]) == ([], "2026-03-03T00:00:00Z")


@pytest.mark.usefixtures("address")
def test_summary_is_grouped(respirators: Run) -> None:
    """`--group-by` gives the numbers by region, profile or model beside those by site, in every form."""
    _, out, _ = respirators("summary", "--json", "--group-by", "region")
    assert [group["group"] for group in msgspec.json.decode(out)["groups"]] == ["north", "plains"]
    _, out, _ = respirators("summary", "--csv", "--group-by", "profile")
    lines = list(csv.DictReader(io.StringIO(out.removeprefix("\ufeff"))))
    assert [(line["line"], line["group"]) for line in lines][2:] == [("group", "uk"), ("total", "")]
    _, out, _ = respirators("summary", "--group-by", "region")
    assert "By group" in out
    code, _, err = respirators("summary", "--group-by", "colour")
    assert code == 1
    assert "must be one of region, profile, model" in err


def test_what_the_service_says_no_to_is_told(address: str, respirators: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A parameter or key it does not take, another's page, and nobody there: a sentence with the address, and 1."""
    code, out, err = respirators("summary", "--profile", "moon")
    assert (code, out) == (1, "")
    assert err.startswith(f"respirators: {address}: ")
    assert "uk" in err
    code, _, err = respirators("summary", "--key", "rl_no")
    assert (code, err) == (
        1,
        f"respirators: {address}: This key is unknown, revoked or expired: ask an administrator for one.\n",
    )
    code, _, err = respirators("summary", "--address", f"{address}/docs")
    assert code == 1
    code, _, err = respirators("summary", "--address", "http://127.0.0.1:9")
    assert code == 1
    assert err.startswith("respirators: http://127.0.0.1:9: nobody listens there (")
    monkeypatch.delenv("RESPIRATORS_KEY")
    code, _, err = respirators("summary")
    assert (code, err) == (1, "respirators: a key of the service is needed: set RESPIRATORS_KEY\n")
