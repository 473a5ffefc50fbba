"""Stock over HTTP: how much there is, the ledger of an item at a site, and what was used, to whom they are told."""

import csv
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import Headers, Message, ago, message, post, site
from tests.http.keys import Keys
from tests.http.recall_firm import fitted

DOCK = {"site": "harrow-dock", "item": "pf-170"}
OLD = {"lot": "L2409", "expires": "2020-01"}
NEW = {"lot": "L2411", "expires": "2099-05"}
JANUARY = {"occurred_on": "2026-01-02"}


def stock(kind: str, quantity: float, hours: float, **fields: Any) -> Message:
    """Tell of stock at the dock, so many hours ago."""
    said = DOCK | {"quantity": quantity, "unit": "C62", "occurred_at": ago(hours=hours)}
    return message(f"stock-{kind}", **(said | fields))


def put_in(hours: float, **fields: Any) -> Message:
    """Fit a filter at the dock."""
    return fitted("FX-0142", fields.pop("lot", None), site="harrow-dock", occurred_at=ago(hours=hours), **fields)


def item(**fields: Any) -> Message:
    """Define the filter."""
    return message("item-defined", item="pf-170", **({"name": "Filter 170", "unit": "C62"} | fields))


def history() -> list[Message]:
    """Tell of two lots, one of which went to the yard, of filters fitted, and of a count."""
    return [
        item(),
        stock("received", 4, 9, **OLD),
        stock("received", 40, 8, **NEW, place="store-a"),
        stock("moved", 12, 7, to_site="east-yard", **NEW),
        put_in(6),
        put_in(5, lot="L2411"),
        stock("counted", 25, 4, **NEW),
    ]


async def listed(http: httpx.AsyncClient, headers: Headers, path: str, **asked: Any) -> dict[str, Any]:
    """Ask for a list."""
    answered = await http.get(path, params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    told: dict[str, Any] = answered.json()
    return told


async def levels(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> list[dict[str, Any]]:
    """List how much there is."""
    return list((await listed(http, headers, "/v1/stock", **asked))["stock"])


async def entries(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> list[dict[str, Any]]:
    """List the entries of the ledger of the filter at the dock."""
    return list((await listed(http, headers, "/v1/stock/ledger", **(DOCK | asked)))["entries"])


async def test_levels_are_told_lot_by_lot(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What came less what was moved and fitted, as counted: the oldest expiry first, with what is past its last day."""
    said = history()
    await post(firm, administrator, *said)
    yard, dock = await levels(firm, administrator)

    assert dock | {"last_counted_at": None} == {
        **DOCK,
        "name": "Filter 170",
        "unit": "C62",
        "quantity": 29.0,
        "lots": [
            {"lot": "L2409", "expires": "2020-01", "expired": True, "quantity": 4.0},
            {"lot": "L2411", "expires": "2099-05", "expired": False, "quantity": 25.0},
        ],
        "short": None,
        "oldest_expiry": "2020-01",
        "last_counted_at": None,
    }
    assert datetime.fromisoformat(dock["last_counted_at"]) == datetime.fromisoformat(said[-1]["occurred_at"])
    assert (yard["site"], yard["quantity"], yard["last_counted_at"]) == ("east-yard", 12.0, None)


async def test_levels_of_a_moment_and_of_one_site_or_item(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """As at a moment, as known at one, narrowed, and page by page."""
    before = await listed(firm, administrator, "/v1/stock")
    await post(firm, administrator, *history(), stock("received", 5, 3, item="bat-64"))

    def told(found: list[dict[str, Any]]) -> list[tuple[str, str, float]]:
        return [(one["site"], one["item"], one["quantity"]) for one in found]

    every = [("east-yard", "pf-170", 12), ("harrow-dock", "bat-64", 5), ("harrow-dock", "pf-170", 29)]
    assert told(await levels(firm, administrator)) == every
    assert told(await levels(firm, administrator, as_at=ago(hours=7.5))) == [("harrow-dock", "pf-170", 44)]
    assert await levels(firm, administrator, known_at=before["known_at"]) == []
    assert told(await levels(firm, administrator, site="east-yard")) == every[:1]
    assert told(await levels(firm, administrator, item="pf-170")) == [every[0], every[2]]
    assert await levels(firm, administrator, item="no-item") == []
    page: dict[str, Any] = {"next": None}
    for one in every:
        after = {"after": page["next"]} if page["next"] else {}
        page = await listed(firm, administrator, "/v1/stock", limit=1, **after)
        assert told(page["stock"]) == [one]
    assert page["next"] is None


async def test_two_units_are_two_rows(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Boxes and pieces of one item are told apart, page by page too."""
    await post(firm, administrator, stock("received", 3, 9, unit="box"), stock("received", 8, 8))
    first = await listed(firm, administrator, "/v1/stock", limit=1)
    second = await listed(firm, administrator, "/v1/stock", limit=1, after=first["next"])

    told = [(one["unit"], one["quantity"]) for one in (*first["stock"], *second["stock"])]
    assert (told, second["next"]) == ([("C62", 8), ("box", 3)], None)


async def test_the_ledger_tells_every_change(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Each with its event and seq, the balance after it, and what was assumed; a count says what it explains."""
    said = history()
    receipts = await post(firm, administrator, *said)
    found = await entries(firm, administrator)

    assert [(one["what"], one["change"], one["balance"]) for one in found] == [
        ("received", 4, 4),
        ("received", 40, 44),
        ("moved-out", -12, 32),
        ("fitted", -1, 31),
        ("fitted", -1, 30),
        ("counted", -1, 29),
    ]
    assert [(one["event"], one["seq"]) for one in found] == [
        (event["id"], receipt["seq"]) for event, receipt in zip(said[1:], receipts[1:], strict=True)
    ]
    assert found[3]["lots"] == [
        {"lot": "L2411", "expires": "2099-05", "change": -1.0, "balance": 27.0, "assumed": True}
    ]
    assert (found[2]["to_site"], found[2]["from_site"], found[1]["place"]) == ("east-yard", None, "store-a")
    assert [one["explains"] for one in found[4:]] == [None, {"expected": 26.0, "found": 25.0, "difference": -1.0}]


async def test_the_ledger_of_a_stretch_goes_on_page_by_page(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Its balances go on from what was before."""
    await post(firm, administrator, *history())
    asked = {"from": ago(hours=7.5), "to": ago(hours=4.5)}
    first = await listed(firm, administrator, "/v1/stock/ledger", **DOCK, **asked, limit=2)
    second = await listed(firm, administrator, "/v1/stock/ledger", **DOCK, **asked, limit=2, after=first["next"])

    told = [[one["balance"] for one in page["entries"]] for page in (first, second)]
    assert (told, second["next"], first["name"]) == ([[32, 31], [30]], None, "Filter 170")


async def test_what_falls_below_nothing_is_told_and_no_fault(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """More fitted than there was: the stock is nothing, short by so much, until a count explains it."""
    await post(firm, administrator, stock("received", 1, 9), put_in(8), put_in(7), put_in(6))
    (short,) = await levels(firm, administrator)
    found = await entries(firm, administrator)
    await post(firm, administrator, stock("counted", 2, 5))
    (counted,) = await levels(firm, administrator)

    assert (short["quantity"], short["short"], short["lots"]) == (0, 2, [])
    assert [(one["balance"], one["short"]) for one in found] == [(1, None), (0, None), (-1, 1), (-2, 1)]
    assert (counted["quantity"], counted["short"]) == (2, None)


async def test_use_is_told_by_periods_of_the_site(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What was fitted new and what was thrown away, by day, week or month; a week begins on Monday.

    The last names no site: it counts where its unit was.
    """

    def at(day: str) -> dict[str, str]:
        return {"occurred_at": f"{day}T12:00:00+00:00"}

    await post(
        firm,
        administrator,
        item(),
        *(fitted("FX-0142", None, site="harrow-dock", **at(day)) for day in ("2025-11-30", "2025-12-01", "2025-12-07")),
        stock("discarded", 2, 0, reason="wet") | at("2025-12-08"),
        fitted("FX-0142", None, **at("2025-12-08")),
    )

    async def told(**asked: Any) -> list[tuple[str, str, float, float]]:
        answered = await listed(firm, administrator, "/v1/consumption", **{"from": "2025-11-01"}, **asked)
        return [(one["from"], one["to"], one["used"], one["discarded"]) for one in answered["periods"]]

    assert await told(group_by="day") == [
        ("2025-11-30", "2025-11-30", 1, 0),
        ("2025-12-01", "2025-12-01", 1, 0),
        ("2025-12-07", "2025-12-07", 1, 0),
        ("2025-12-08", "2025-12-08", 1, 2),
    ]
    assert await told() == [
        ("2025-11-24", "2025-11-30", 1, 0),
        ("2025-12-01", "2025-12-07", 2, 0),
        ("2025-12-08", "2025-12-14", 1, 2),
    ]
    assert await told(group_by="month", to="2025-12-07") == [
        ("2025-11-01", "2025-11-30", 1, 0),
        ("2025-12-01", "2025-12-07", 2, 0),
    ]
    assert await told(site="east-yard") == []
    assert await told(item="bat-64") == []
    (named, *_) = (await listed(firm, administrator, "/v1/consumption", **{"from": "2025-11-01"}))["periods"]
    assert (named["name"], named["unit"]) == ("Filter 170", "C62")


async def test_use_of_the_last_twelve_weeks_is_told_of_itself(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Without a first day; the period that goes on ends with today."""
    await post(firm, administrator, put_in(1), put_in(24 * 90))
    answered = await listed(firm, administrator, "/v1/consumption", group_by="month")

    assert sum(one["used"] for one in answered["periods"]) == 1
    assert answered["periods"][-1]["to"] <= (datetime.now(UTC) + timedelta(hours=2)).date().isoformat()


async def test_a_key_of_a_site_sees_its_own(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Its levels, its ledger, its use; what came from elsewhere without the other site's name or event."""
    await post(firm, administrator, *history())
    lead = await keys.make("site-lead", ["east-yard"])
    here = {"site": "east-yard", "item": "pf-170"}
    (moved,) = (await listed(firm, lead, "/v1/stock/ledger", **here))["entries"]
    (whole,) = (await listed(firm, administrator, "/v1/stock/ledger", **here))["entries"]

    assert [(one["site"], one["quantity"]) for one in await levels(firm, lead)] == [("east-yard", 12)]
    assert (moved["what"], moved["quantity"], moved["event"], moved["from_site"]) == ("moved-in", 12, None, None)
    assert (whole["event"] is None, whole["from_site"]) == (False, "harrow-dock")
    assert (await listed(firm, lead, "/v1/consumption"))["periods"] == []
    for path in ("/v1/stock", "/v1/stock/ledger", "/v1/consumption"):
        refused = await firm.get(path, params=DOCK, headers=lead)
        assert (refused.status_code, refused.json()["type"]) == (404, "/problems/not-found")


async def test_another_firm_has_none_of_it(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Its lists are empty, and the site is none of its own."""
    await post(firm, administrator, *history())
    foreign = await keys.make("manager", organisation=FOREIGN)

    assert await levels(firm, foreign) == []
    assert (await listed(firm, foreign, "/v1/consumption"))["periods"] == []
    refused = await firm.get("/v1/stock/ledger", params=DOCK, headers=foreign)
    assert refused.status_code == 404


@pytest.mark.parametrize(
    ("path", "asked", "parameter", "detail"),
    [
        ("/v1/stock/ledger", {"site": "harrow-dock"}, "item", "This parameter is needed."),
        ("/v1/stock/ledger", {}, "site", "This parameter is needed."),
        ("/v1/stock/ledger", DOCK | {"from": "2026-03-02"}, "from", "a date alone is not enough"),
        ("/v1/stock/ledger", DOCK | {"from": "2026-03-02T00:00:00Z", "to": "2026-03-01T00:00:00Z"}, "to", "must lie"),
        ("/v1/stock", {"lot": "L2411"}, "lot", "There is no such parameter here. Known: after, limit, as_at"),
        ("/v1/consumption", {"group_by": "year"}, "group_by", "must be one of day, week, month"),
        ("/v1/consumption", {"from": "yesterday"}, "from", "must be a day of the calendar such as 2026-03-02"),
        ("/v1/consumption", {"from": "2026-03-02", "to": "2026-03-01"}, "to", "must not lie before 'from'"),
        ("/v1/stock", {"after": "nonsense"}, None, ""),
    ],
)
async def test_what_is_asked_wrongly_is_told(
    firm: httpx.AsyncClient, administrator: Headers, path: str, asked: dict[str, str], parameter: str, detail: str
) -> None:
    """A problem that names the parameter and says what to send."""
    answered = await firm.get(path, params=asked, headers=administrator)

    assert answered.status_code == 400
    if parameter:
        found = {one.get("parameter"): one["detail"] for one in answered.json()["errors"]}
        assert found[parameter].startswith(detail), found


async def test_stock_is_had_as_tables_in_which_nothing_is_a_formula(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """Names and lots that look like formulas have an apostrophe before them; balances stay numbers."""
    said = [item(name="=1+1"), stock("received", 4, 9, lot="@L"), put_in(8), put_in(7, lot="@L")]
    await post(firm, administrator, *said)

    async def table(path: str) -> list[dict[str, str]]:
        answered = await firm.get(path, params=DOCK, headers=administrator | {"accept": "text/csv"})
        assert answered.status_code == 200
        return list(csv.DictReader(answered.content.decode("utf-8-sig").splitlines()))

    (level,) = await table("/v1/stock")
    received, *_, last = await table("/v1/stock/ledger")
    used = await table("/v1/consumption")
    assert (level["name"], level["quantity"], level["short"]) == ("'=1+1", "2.0", "")
    assert level["lots"] == '[{"lot":"@L","expires":null,"expired":false,"quantity":2.0}]'
    assert (received["lot"], received["balance"], last["change"], last["name"]) == ("'@L", "4.0", "-1.0", "'=1+1")
    assert {one["name"] for one in used} == {"'=1+1"}
    assert sum(float(one["used"]) for one in used) == 2


@pytest.mark.parametrize(
    ("role", "status"),
    [("integrator", 200), ("worker-representative", 200), ("auditor", 200), ("manager", 200), ("site-app", 403)],
)
async def test_who_may_ask(firm: httpx.AsyncClient, keys: Keys, role: Any, status: int) -> None:
    """Whoever reads the summary, and whoever connects the firm's systems; no device."""
    headers = await keys.make(role)
    found = [
        (await firm.get(path, params=DOCK, headers=headers)).status_code
        for path in ("/v1/stock", "/v1/stock/ledger", "/v1/consumption")
    ]
    assert found == [status, status, status]


async def test_stock_is_the_same_whatever_else_is_asked_for(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A third site tells an expiry of the lot that two were sent: its stock has that, alone or among all."""
    sites = [site(name) for name in ("a-yard", "b-yard", "c-yard")]
    soon, later = {"lot": "L", "expires": "2090-01"}, {"lot": "M", "expires": "2095-01"}
    await post(
        firm,
        administrator,
        *sites,
        *(stock("received", 5, 40, **(one | {"site": "a-yard"})) for one in (soon, later)),
        stock("received", 5, 39, site="c-yard", lot="L", expires="2092-05"),
        *(stock("moved", 2, 38, site="a-yard", to_site="c-yard", lot=lot) for lot in ("L", "M")),
        stock("moved", 1, 38, site="a-yard", to_site="b-yard", lot="L"),
    )
    (alone,) = await levels(firm, administrator, site="c-yard")
    among = next(one for one in await levels(firm, administrator) if one["site"] == "c-yard")
    assert [(one["lot"], one["expires"], one["quantity"]) for one in alone["lots"]] == [
        ("L", "2092-05", 7.0),
        ("M", "2095-01", 2.0),
    ]
    assert among["lots"] == alone["lots"]


async def test_a_filter_of_a_day_comes_off_the_lot_that_was_good_that_day(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """Fitted on the last of January, told by the day: the day ends in February by any clock, the lot ends with it."""
    lots = [{"lot": "OLD", "expires": "2026-01"}, {"lot": "NEW", "expires": "2099-01"}]
    came: list[Message] = [message("stock-received", **DOCK, **lot, **JANUARY, quantity=5, unit="C62") for lot in lots]
    last = put_in(1)
    del last["occurred_at"]
    await post(firm, administrator, item(), *came, last | {"occurred_on": "2026-01-31"})
    (found,) = await levels(firm, administrator)
    assert [(one["lot"], one["quantity"]) for one in found["lots"]] == [("OLD", 4.0), ("NEW", 5.0)]
