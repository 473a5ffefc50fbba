"""What is told of a scan: what it says, and which of the firm's things it is."""

from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest

from tests.databases.clone import Template
from tests.http.conftest import Refusing, reading
from tests.http.doors import FOREIGN, OURS
from tests.http.firm import Message, ago, message, model, registered, site
from tests.http.keys import Keys

Headers = dict[str, str]
GS = "\x1d"
#: The example GTIN of GS1 (09506000134352), with a lot and an expiry of our own.
FILTER = f"]d201095060001343521729053110L2411{GS}21PF-93"
BOTH = [("part-lot", "FX-1"), ("part-lot", "FX-2")]
WHERE = "/v1/scans/interpretation"


def item(ref: str, **fields: Any) -> Message:
    """Define an item."""
    return message("item-defined", item=ref, name=f"Item {ref}", unit="C62", **fields)


def fitted(tag: str, at: float, part: dict[str, Any], **fields: Any) -> Message:
    """Fit a filter so many hours ago."""
    said = {"position": "particle-filter", "in": {"item": "pf-170", "condition": "new"} | part, "reason": "loading"}
    return message("filter-replaced", asset=tag, occurred_at=ago(hours=at), **(said | fields))


async def post(http: httpx.AsyncClient, headers: Headers, *said: Message) -> None:
    """Post events that are all recorded."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    assert {result["status"] for result in answered.json()["results"]} == {201}, answered.text[-500:]


async def scan(http: httpx.AsyncClient, headers: Headers, *scans: str, **asked: str) -> list[Any]:
    """Ask what was scanned."""
    answered = await http.post(WHERE, json={"scans": scans}, headers=headers, params=asked)
    assert answered.status_code == 200, answered.text
    return list(answered.json()["scans"])


def there() -> list[Message]:
    """Tell of a firm with two items, and units with filters of one lot at two sites."""
    items = [item("pf-170", gtin="9506000134352", part_number="170-220"), item("bat-64", part_number="B64")]
    part = {"lot": "L2411", "serial": "PF-93", "expires": "2029-05-31"}
    return [
        *(site("harrow-dock"), site("east-yard"), model(maker="Northwind"), *items),
        *(registered("FX-1", serial="NW2-004417"), registered("FX-2", site="east-yard")),
        *(fitted("FX-1", 4, part), fitted("FX-2", 4, {"lot": "L2411"})),
    ]


@pytest.fixture
async def dock(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of the firm."""
    await post(http, administrator, *there())
    return http


@pytest.fixture(scope="module")
async def shared(template: Template) -> AsyncIterator[Refusing]:
    """Give a service of the firm that is only asked."""
    async with reading(template, there()) as found:
        yield found


def tags(told: Any) -> list[tuple[str, str]]:
    """Give by what which unit was found."""
    return [(one["matched"], one["tag"]) for one in told["assets"]]


async def test_a_box_is_its_item_lot_and_expiry_and_where_it_is_fitted(
    dock: httpx.AsyncClient, administrator: Headers
) -> None:
    """A GS1 DataMatrix names the item by its GTIN, and the units that have the part in them."""
    (told,) = await scan(dock, administrator, FILTER)

    assert (told["form"], told["gtin"], told["item"]) == ("gs1-element-string", "09506000134352", "pf-170")
    assert (told["lot"], told["serial"], told["expires"], told["errors"]) == ("L2411", "PF-93", "2029-05-31", [])
    assert [one["identifier"] for one in told["elements"]] == ["01", "17", "10", "21"]
    assert told["elements"][1] == {
        "identifier": "17",
        "title": "USE BY or EXPIRY",
        "value": "290531",
        "day": "2029-05-31",
    }
    assert tags(told) == [("part-serial", "FX-1"), ("part-lot", "FX-2")]
    assert told["assets"][0] == {
        "matched": "part-serial",
        "tag": "FX-1",
        "model": "northwind-2",
        "serial": "NW2-004417",
        "site": "harrow-dock",
        "phase": "in-store",
        "standing": "out-of-scope",
        "do_not_use": False,
        "reasons": [],
        "position": "particle-filter",
        "part": {"item": "pf-170", "lot": "L2411", "serial": "PF-93", "expires": "2029-05-31"},
    }


async def test_a_box_is_the_same_in_whatever_order_it_says_so(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Without the mark of its symbology, too: the separator in it is in no number of ours."""
    texts = (
        "]d201095060001343521729053110L2411",
        f"1729053110L2411{GS}0109506000134352",
        f"21PF-93{GS}01095060001343521729053110L2411",
    )
    marked, turned, serial = await scan(dock, administrator, *texts)

    assert (turned["form"], turned["item"], turned["errors"]) == ("gs1-element-string", "pf-170", [])
    assert tags(marked) == tags(turned) == BOTH
    assert tags(serial) == [("part-serial", "FX-1"), ("part-lot", "FX-2")]


async def test_a_number_that_reads_as_a_box_is_both(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """All of it is an element string, and it is a lot of another item: what it says and what is called so are told."""
    number = "17290531010950600013435210L2411"
    place = {"position": "battery", "in": {"item": "bat-64", "condition": "new", "lot": number}, "reason": "loading"}
    await post(
        dock,
        administrator,
        message("part-replaced", asset="FX-2", occurred_at=ago(hours=3), **place),
        *(kept("received", 9, 12.0), kept("received", 9, 2.0, item="bat-64", lot=number)),
    )
    (told,) = await scan(dock, administrator, number)

    assert (told["form"], told["item"], told["lot"], told["errors"]) == ("gs1-element-string", "pf-170", "L2411", [])
    assert [(one["tag"], one["position"]) for one in told["assets"]] == [
        ("FX-1", "particle-filter"),
        ("FX-2", "particle-filter"),
        ("FX-2", "battery"),
    ]
    assert sorted((one["item"], one["lot"]) for one in told["stock"]) == [("bat-64", number), ("pf-170", "L2411")]


def kept(kind: str, at: float, quantity: float, where: str = "harrow-dock", **fields: Any) -> Message:
    """Tell of stock of the lot, so many hours ago."""
    said = {"site": where, "item": "pf-170", "unit": "C62", "lot": "L2411", "quantity": quantity}
    return message(f"stock-{kind}", occurred_at=ago(hours=at), **(said | fields))


async def stock_at_two_sites(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Keep the lot at both sites, another lot of it, a like lot of the battery, and some without a lot."""
    unnamed = kept("received", 9, 7.0)
    unnamed.pop("lot")
    await post(
        dock,
        administrator,
        kept("received", 9, 12.0, expires="2029-05"),
        kept("received", 9, 5.0, "east-yard"),
        kept("received", 9, 3.0, lot="L2412"),
        kept("received", 9, 2.0, item="bat-64", lot="l2411"),
        unnamed,
        fitted("FX-1", 2, {"lot": "L2411"}, site="harrow-dock"),
    )


def quantities(told: Any) -> list[tuple[str, str, str, float]]:
    """Give the stock that a scan is told to be."""
    return [(one["site"], one["item"], one["lot"], one["quantity"]) for one in told["stock"]]


async def test_a_lot_is_its_stock_at_the_sites_that_the_key_reads(
    dock: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """What was fitted since is taken off; an item of no known number may be it; other sites are as if not there."""
    await stock_at_two_sites(dock, administrator)
    numbered = f"[)>\x1e06{GS}1P170-220{GS}1TL2411\x1e\x04"
    box, gtin, text, fault = await scan(dock, administrator, numbered, FILTER, "l2411", "(01)09506000134352(10)")
    mine = ("harrow-dock", "pf-170", "L2411", 11.0)
    both = [("east-yard", "pf-170", "L2411", 5.0), mine]
    here = await keys.make("site-app", ["harrow-dock"])

    any_item = [both[0], ("harrow-dock", "bat-64", "l2411", 2.0), both[1]]
    assert (quantities(box), quantities(gtin), quantities(text)) == (both, any_item, any_item)
    assert (box["stock"][1]["expires"], box["stock"][1]["unit"], fault["stock"]) == ("2029-05", "C62", [])
    assert [quantities(told) for told in await scan(dock, here, numbered)] == [[mine]]
    assert [quantities(told) for told in await scan(dock, administrator, numbered, site="east-yard")] == [both[:1]]


async def test_an_item_alone_is_told_of_no_stock(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A code that says no lot names the item; a tag and a number that nobody knows are no stock either."""
    await stock_at_two_sites(dock, administrator)
    told = await scan(dock, administrator, "9506000134352", "FX-1", "(01)09506000134352(10)NONE")

    assert [(one["item"], one["stock"]) for one in told] == [("pf-170", []), (None, []), ("pf-170", [])]


@pytest.mark.parametrize(
    ("text", "form", "found"),
    [
        ("FX-1", "plain", [("tag", "FX-1")]),
        ("nw2-004417 ", "plain", [("serial", "FX-1")]),
        ("pf-93", "plain", [("part-serial", "FX-1")]),
        ("l2411", "plain", BOTH),
        ("(01)09506000134352(21)NW2-004417", "gs1-element-string", [("serial", "FX-1")]),
        ("]d28004NW2-004417", "gs1-element-string", [("serial", "FX-1")]),
        ("https://id.gs1.org/01/09506000134352/10/L2411", "gs1-digital-link", BOTH),
        (f"[)>\x1e06{GS}1P170-220{GS}1TL2411\x1e\x04", "data-identifiers", BOTH),
        (f"[)>\x1e06{GS}Ppf-170{GS}1TL2411\x1e\x04", "data-identifiers", BOTH),
        (f"[)>\x1e06{GS}1PMAKERS-7{GS}Ppf-170{GS}1TL2411\x1e\x04", "data-identifiers", BOTH),
        (f"[)>\x1e06{GS}1PMAKERS-7{GS}Pbat-64{GS}1TL2411\x1e\x04", "data-identifiers", []),
        (f"https://any.example/{OURS}/FX-1", "asset-label", [("tag", "FX-1")]),
        (f"https://any.example/{FOREIGN}/FX-1", "identification-link", []),
        ("nobody-knows", "plain", []),
        ("https://maker.example/thing/7", "identification-link", []),
    ],
)
async def test_every_form_finds_its_units(shared: Refusing, text: str, form: str, found: list[tuple[str, str]]) -> None:
    """Tag, serial number, lot and part number are found in whichever form and case; what is not known is no fault."""
    (told,) = await scan(*shared, text)

    assert (told["form"], tags(told), told["errors"], told["more"]) == (form, found, [], False)


@pytest.mark.parametrize(
    ("text", "items"),
    [
        ("170-220", ["pf-170"]),
        ("b64", ["bat-64"]),
        ("bat-64", ["bat-64"]),
        ("9506000134352", ["pf-170"]),
        ("]E09506000134352", ["pf-170"]),
        (f"[)>\x1e06{GS}1PB64\x1e\x04", ["bat-64"]),
        (f"[)>\x1e06{GS}Pbat-64\x1e\x04", ["bat-64"]),
        (f"[)>\x1e06{GS}1PB64{GS}Pbat-64\x1e\x04", ["bat-64"]),
        (f"[)>\x1e06{GS}1PMAKERS-7{GS}Pbat-64\x1e\x04", ["bat-64"]),
        ("]d20112345678901231", []),
        ("L2411", []),
    ],
)
async def test_items_are_found_by_each_of_their_numbers(shared: Refusing, text: str, items: list[str]) -> None:
    """Reference, part number and GTIN name an item."""
    (told,) = await scan(*shared, text)

    assert [one["item"] for one in told["items"]] == items
    assert told["item"] == (items[0] if items else None)


async def test_of_two_items_with_a_number_none_is_chosen(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Where two makers gave the same part number both are told, and neither is taken."""
    await post(dock, administrator, item("other-64", part_number="B64"))
    (told,) = await scan(dock, administrator, "B64")

    assert told["item"] is None
    assert [one["item"] for one in told["items"]] == ["bat-64", "other-64"]


async def test_a_lot_of_another_item_is_another_lot(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """The same lot number on another item's box finds no part; one of an item without a GTIN on record may be it."""
    await post(
        dock,
        administrator,
        item("plain-filter"),
        registered("FX-3"),
        fitted("FX-3", 3, {"item": "plain-filter", "lot": "L2411"}),
    )
    (told,) = await scan(dock, administrator, "]d201123456789012311" + "0L2411")

    assert tags(told) == [("part-lot", "FX-3")]


@pytest.mark.parametrize("typed", ["L0077", "l77"])
async def test_leading_zeros_mean_nothing_in_a_lot(dock: httpx.AsyncClient, administrator: Headers, typed: str) -> None:
    """As in recalls and in stock: a filter of the lot is found however many zeros were typed, here or there."""
    await post(dock, administrator, fitted("FX-1", 2, {"lot": "L077"}))
    (told,) = await scan(dock, administrator, typed)
    assert tags(told) == [("part-lot", "FX-1")]


async def test_a_part_that_was_taken_out_is_found_no_more(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Only what is fitted now counts: after a swap, and after its event was voided."""
    swap, mistaken = fitted("FX-1", 2, {"lot": "L2500"}), fitted("FX-2", 2, {"lot": "L2600"})
    await post(dock, administrator, swap, mistaken)
    await post(dock, administrator, message("voided", event=mistaken["id"], reason="another unit", by="p-2"))
    told = await scan(dock, administrator, "L2411", "L2500", "L2600")

    assert [tags(one) for one in told] == [[("part-lot", "FX-2")], [("part-lot", "FX-1")], []]


async def test_a_part_is_found_however_it_came_to_be_known(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Parts are found that were named at registration, identified, replaced and put in by a repair."""

    def put(lot: str, ref: str = "pf-170", place: str = "particle-filter") -> dict[str, Any]:
        return {"position": place, "part": {"item": ref, "lot": lot, "condition": "new"}}

    battery = {"position": "battery", "in": {"item": "bat-64", "lot": "R3", "condition": "new"}, "reason": "schedule"}
    await post(
        dock,
        administrator,
        registered("FX-4", parts=[put("R1"), put("R0", "bat-64", "battery")]),
        registered("FX-5"),
        registered("FX-6"),
        message("part-identified", asset="FX-5", **put("R2")),
        message("part-replaced", asset="FX-5", **battery),
        message("repaired", asset="FX-6", work=["filter"], parts=[put("R4")]),
    )
    told = await scan(dock, administrator, "R0", "R1", "R2", "R3", "R4")

    assert [tags(one) for one in told] == [
        [("part-lot", tag)] for tag in ("FX-4", "FX-4", "FX-5", "FX-5", "FX-6")
    ]  # fmt: skip


async def test_a_tag_means_the_unit_that_has_it_else_the_last_that_had(
    dock: httpx.AsyncClient, administrator: Headers
) -> None:
    """An old label finds its unit under its new tag; a retired unit is told as it is."""
    await post(dock, administrator, message("retagged", asset="FX-1", new_tag="FX-9"))
    await post(dock, administrator, message("retired", asset="FX-2", reason="worn-out"))
    old, retired = await scan(dock, administrator, f"https://any.example/{OURS}/FX-1", "FX-2")

    assert tags(old) == [("tag", "FX-9")]
    assert [(one["phase"], one["do_not_use"], one["reasons"]) for one in retired["assets"]] == [
        ("retired", True, ["retired"])
    ]


async def test_a_unit_that_failed_says_so(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Whoever scans a withdrawn unit is told not to use it."""
    failed = {"points": {"airflow": "fail", "battery": "pass"}}
    await post(dock, administrator, message("failed-check", asset="FX-1", **failed))
    (told,) = await scan(dock, administrator, "FX-1")

    assert [(one["do_not_use"], one["reasons"]) for one in told["assets"]] == [(True, ["withdrawal"])]


async def test_scans_are_answered_one_by_one(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A code against its rules fails by itself, with its place and what to do; those beside it are told."""
    good, bad, alone = await scan(dock, administrator, FILTER, FILTER.replace("34352", "34353"), "]C110L2411")

    assert (good["item"], good["errors"]) == ("pf-170", [])
    assert (bad["gtin"], bad["lot"], bad["items"], bad["assets"]) == (None, None, [], [])
    assert bad["errors"] == [
        {
            "detail": "the check digit of (01) is wrong: scan the code again, or look the number up on the package",
            "pointer": "#/scans/1",
        }
    ]
    assert [error["pointer"] for error in alone["errors"]] == ["#/scans/2"]
    assert (alone["lot"], alone["assets"]) == (None, [])


async def test_nothing_is_recorded(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Asking leaves the log where it was, and no message is kept."""
    before = (await dock.post(WHERE, json={"scans": ["FX-1"]}, headers=administrator)).json()["judged_to"]
    await scan(dock, administrator, "FX-1", FILTER)
    after = (await dock.post(WHERE, json={"scans": ["FX-1"]}, headers=administrator)).json()["judged_to"]
    kept = (await dock.get("/v1/rejected", headers=administrator)).json()["rejected"]

    assert (after, kept) == (before, [])


async def test_a_key_of_a_site_is_told_of_its_own_units(
    dock: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """What is at another site is not found: by tag, serial number, lot or label."""
    kiosk = await keys.make("site-app", ["harrow-dock"])
    texts = ("FX-2", "NW-FX-2", "L2411", f"https://any.example/{OURS}/FX-2")

    assert [tags(one) for one in await scan(dock, kiosk, *texts)] == [[], [], [("part-lot", "FX-1")], []]
    assert [tags(one) for one in await scan(dock, administrator, *texts, site="harrow-dock")] == [
        *([], [], [("part-lot", "FX-1")], []),
    ]
    told = await dock.post(WHERE, json={"scans": ["FX-2"]}, headers=kiosk, params={"site": "east-yard"})
    assert (told.status_code, told.json()["type"]) == (404, "/problems/not-found")


async def test_another_firm_is_told_nothing(dock: httpx.AsyncClient, keys: Keys) -> None:
    """Another organisation's key finds neither units nor items, and reads a label of ours as any address."""
    theirs = await keys.make("administrator", organisation=FOREIGN)
    texts = ("FX-1", "NW2-004417", "L2411", "170-220", FILTER, f"https://any.example/{OURS}/FX-1")
    told = await scan(dock, theirs, *texts)

    assert [(one["items"], one["assets"]) for one in told] == [([], [])] * 6
    assert told[-1]["form"] == "identification-link"


async def test_more_than_can_be_told_is_said(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A lot in more units than a scan is told of says that there are more."""
    many = [registered(f"MY-{n:03}", parts=[]) for n in range(60)]
    await post(dock, administrator, *many)
    await post(dock, administrator, *(fitted(one["asset"], 3, {"lot": "MANY"}) for one in many))
    (told,) = await scan(dock, administrator, "MANY")

    assert (len(told["assets"]), told["more"]) == (50, True)
    assert [one["tag"] for one in told["assets"]] == [f"MY-{n:03}" for n in range(50)]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "#/scans"),
        ({"scans": []}, "#/scans"),
        ({"scans": [""]}, "#/scans/0"),
        ({"scans": ["A"] * 101}, "#/scans"),
        ({"scans": ["A", "9" * 8_001]}, "#/scans/1"),
        ({"scans": [7]}, "#/scans/0"),
        ({"scans": ["A"], "site": "harrow-dock"}, "#/site"),
    ],
)
async def test_a_body_of_another_form_is_refused(shared: Refusing, body: Any, pointer: str) -> None:
    """1 to 100 texts of up to 8,000 characters are taken, and nothing else."""
    answered = await shared.http.post(WHERE, json=body, headers=shared.administrator)

    assert (answered.status_code, answered.json()["type"]) == (422, "/problems/malformed")
    assert [error["pointer"] for error in answered.json()["errors"]] == [pointer]


@pytest.mark.parametrize("body", [b'{"scans": ["\\ud800"]}', b'{"scans": ["\xff"]}'])
async def test_half_a_character_is_no_json(shared: Refusing, body: bytes) -> None:
    """A lone surrogate and bytes that are not UTF-8 are refused as such."""
    answered = await shared.http.post(WHERE, content=body, headers=shared.administrator)

    assert (answered.status_code, answered.json()["type"]) == (400, "/problems/not-json")


HOSTILE = (
    "\x00",
    "\x00\x01\x1b[31m",
    "\u202eFX-1",
    "\u2066FX-1\u2069",
    "' OR 1=1 --",
    "%(organisation)s",
    "javascript:alert(1)",
    "<svg onload=alert(1)>",
    "]d2" + "2011" * 1_900,
    "(10)" * 2_000,
    "https://a/01/12312312312333/10/" + "%25" * 2_000,
    f"[)>\x1e06{GS}" + f"1TA{GS}" * 1_500,
    *(f"[)>\x1e06{GS}{identifier}{'9' * 5_000}\x1e\x04" for identifier in ("1T", "S", "1P")),
    *("\u200b", "\u2060\ufeff", "\u00a0"),
    "🦺" * 4_000,
)


async def test_hostile_scans_are_told_nothing_of(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """Control characters, code of other languages, thousands of parts or digits, and what nobody sees find nothing."""
    await stock_at_two_sites(dock, administrator)
    told = await scan(dock, administrator, *HOSTILE)

    assert [(one["items"], one["assets"], one["stock"]) for one in told] == [([], [], [])] * len(HOSTILE)


@pytest.mark.parametrize(
    ("name", "faults"), [("0109506000134352", 0), ("0112345678901234", 1), ("0109506000134352X", 1)]
)
async def test_what_is_called_like_a_code_is_found(
    dock: httpx.AsyncClient, administrator: Headers, name: str, faults: int
) -> None:
    """A tag that reads as a GTIN, right or wrong, is its unit's, as the label says it; so are a serial and a lot."""
    await post(
        dock,
        administrator,
        registered(name),
        registered("FX-8", serial=name),
        fitted("FX-1", 3, {"lot": name}),
    )
    (told,) = await scan(dock, administrator, name)

    assert (told["form"], len(told["errors"])) == ("gs1-element-string", faults)
    assert tags(told) == [("tag", name), ("serial", "FX-8"), ("part-lot", "FX-1")]


async def test_a_lot_in_brackets_is_found(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """What is wrong in it as a code is told, and what is called so all the same."""
    await post(dock, administrator, fitted("FX-1", 3, {"lot": "(24)5512"}), kept("received", 2, 4.0, lot="(24)5512"))
    (told,) = await scan(dock, administrator, "(24)5512")

    assert (told["lot"], len(told["errors"]), tags(told)) == (None, 1, [("part-lot", "FX-1")])
    assert quantities(told) == [("harrow-dock", "pf-170", "(24)5512", 4.0)]


async def test_a_unit_is_told_once(dock: httpx.AsyncClient, administrator: Headers) -> None:
    """A text that is a unit's tag and its serial number, or a part's lot and its serial number, finds it once."""
    await post(dock, administrator, registered("S-7", serial="s-7"), fitted("S-7", 3, {"lot": "B-7", "serial": "B-7"}))
    told = await scan(dock, administrator, "S-7", "B-7")

    assert [tags(one) for one in told] == [[("tag", "S-7")], [("part-serial", "S-7")]]
