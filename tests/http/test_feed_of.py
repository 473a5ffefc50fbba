"""The feed narrowed to a kind, a site or a subject."""

from typing import Any

import httpx
import msgspec
import pytest

from service.assessing import feed
from service.domain.codec import decode
from service.domain.kinds import KINDS
from service.domain.words import SUBJECTS
from tests.http.firm import checked, issued, message, registered
from tests.http.keys import Keys

Headers = dict[str, str]
STOCK = {"item": "pf-170", "quantity": 4.0, "unit": "EA", "site": "east-yard"}


@pytest.fixture
async def busy(firm: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a firm of nine events: units at both sites, and stock."""
    said = [
        registered("FX-0500", site="east-yard"),
        issued(site="harrow-dock"),
        message("stock-received", **STOCK),
        checked(site="harrow-dock"),
        issued("FX-0500", site="east-yard"),
    ]
    answered = await firm.post("/v1/events", json=said, headers=administrator)
    assert [result["seq"] for result in answered.json()["results"]] == [5, 6, 7, 8, 9]
    return firm


async def read(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> Any:
    """Read a page."""
    answered = await http.get("/v1/events", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return answered.json()


@pytest.mark.parametrize(
    ("asked", "seqs"),
    [
        ({}, [1, 2, 3, 4, 5, 6, 7, 8, 9]),
        ({"kind": "issued"}, [6, 9]),
        ({"site": "east-yard"}, [2, 5, 7, 9]),
        ({"subject": "asset:FX-0142"}, [4, 6, 8]),
        ({"subject": "item:pf-170"}, [7]),
        ({"subject": "model:northwind-2"}, [3]),
        ({"subject": "asset:FX-9999"}, []),
        ({"kind": "issued", "site": "east-yard"}, [9]),
        ({"kind": "issued", "subject": "asset:FX-0142"}, [6]),
        ({"site": "east-yard", "subject": "asset:FX-0142"}, []),
        ({"kind": "issued", "site": "east-yard", "subject": "asset:FX-0500"}, [9]),
        ({"subject": "asset:FX-0142", "after": "4"}, [6, 8]),
        ({"subject": "asset:FX-0142", "after": "4", "limit": "1"}, [6]),
    ],
)
async def test_the_feed_is_narrowed(
    busy: httpx.AsyncClient, administrator: Headers, asked: dict[str, str], seqs: list[int]
) -> None:
    """A kind, a site and a subject narrow the feed, each by itself and together."""
    page = await read(busy, administrator, **asked)

    assert [event["seq"] for event in page["events"]] == seqs


@pytest.mark.parametrize(
    "asked",
    [{"kind": "issued"}, {"site": "east-yard"}, {"subject": "asset:FX-0142"}],
    ids=lambda asked: next(iter(asked)),
)
async def test_a_cursor_moves_over_what_is_passed_over(
    busy: httpx.AsyncClient, administrator: Headers, asked: dict[str, str]
) -> None:
    """`next` stands at the end of the log though its last events were none of those asked for: what follows is new."""
    page = await read(busy, administrator, **asked)
    await busy.post(
        "/v1/events", json=message("stock-counted", **STOCK | {"site": "harrow-dock"}), headers=administrator
    )
    nothing = await read(busy, administrator, after=page["next"], **asked)
    await busy.post("/v1/events", json=issued(site="east-yard"), headers=administrator)
    more = await read(busy, administrator, after=nothing["next"], **asked)

    assert (nothing["events"], nothing["more"], nothing["next"] == page["next"]) == ([], False, False)
    assert [event["seq"] for event in more["events"]] == [11]


@pytest.mark.parametrize("limit", ["1", "2", "100"])
async def test_a_long_log_is_looked_through_by_stretches(
    busy: httpx.AsyncClient, administrator: Headers, monkeypatch: pytest.MonkeyPatch, limit: str
) -> None:
    """A rare kind is found page by page: an empty page that says `more` has moved its cursor, and none is lost."""
    monkeypatch.setattr(feed, "STRETCH", 2)
    monkeypatch.setattr(feed, "STRETCHES", 1)
    asked, pages = {"kind": "issued", "limit": limit}, []
    page = await read(busy, administrator, **asked)
    while page["more"]:
        pages.append(page)
        page = await read(busy, administrator, after=page["next"], **asked)

    assert [event["seq"] for one in [*pages, page] for event in one["events"]] == [6, 9]
    assert [one["events"] for one in pages[:2]] == [[], []]


async def test_a_cursor_is_bound_to_what_is_followed(busy: httpx.AsyncClient, administrator: Headers) -> None:
    """A cursor of one filter is none of another; how long is waited is no part of the question."""
    after = (await read(busy, administrator, kind="issued"))["next"]
    others = [{}, {"kind": "checked"}, {"kind": "issued", "site": "east-yard"}, {"subject": "asset:FX-0142"}]
    refused = [
        await busy.get("/v1/events", params={"after": after, **asked}, headers=administrator) for asked in others
    ]

    assert {answered.json()["type"] for answered in refused} == {"/problems/bad-cursor"}
    assert (await read(busy, administrator, kind="issued", after=after, wait="0"))["events"] == []


async def test_a_filter_opens_nothing(busy: httpx.AsyncClient, keys: Keys) -> None:
    """A key of a site follows a subject as far as its own site goes, and another site not at all."""
    east = await keys.make("integrator", ["east-yard"])
    page = await read(busy, east, subject="asset:FX-0142")
    elsewhere = await busy.get("/v1/events", params={"site": "harrow-dock"}, headers=east)
    nowhere = await busy.get("/v1/events", params={"site": "no-site"}, headers=east)

    assert page["events"] == []
    assert [event["seq"] for event in (await read(busy, east, kind="issued"))["events"]] == [9]
    assert (elsewhere.status_code, elsewhere.json()) == (404, nowhere.json())


@pytest.mark.parametrize(
    "asked",
    [
        *({"subject": subject} for subject in ("FX-0142", "use:occasional", "asset:", "asset:FX 1")),
        *({"wait": wait} for wait in ("31", "-1", "PT5S")),
        {"kind": "no-kind"},
        {"site": "no site"},
    ],
    ids=str,
)
async def test_what_cannot_be_followed_is_refused(
    busy: httpx.AsyncClient, administrator: Headers, asked: dict[str, str]
) -> None:
    """A kind that there is not, a subject that is none, and a wait out of bounds are refused by name."""
    answered = await busy.get("/v1/events", params=asked, headers=administrator)

    assert (answered.status_code, answered.json()["errors"][0]["parameter"]) == (400, next(iter(asked)))


def test_every_sort_of_subject_can_be_followed() -> None:
    """What the kinds are filed under can be asked for, but for rows of reports."""
    filed = {subject.partition(":")[0] for kind in KINDS for subject in decode_example(kind).subjects()}

    assert filed - {"exception"} == set(SUBJECTS)


def decode_example(kind: Any) -> Any:
    """Give the example of a kind."""
    return decode(msgspec.json.encode(kind.example))
