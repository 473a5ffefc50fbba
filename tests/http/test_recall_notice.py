"""The notice of a recall: a page a site, to be printed."""

import re
from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, message, post, registered, site
from tests.http.keys import Keys
from tests.http.ordering_firm import item
from tests.http.recall_firm import BAD, closed, hood, opened, stopped, the_fleet


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm that opened a recall whose words are hostile to a page."""
    await post(
        http, administrator, *the_fleet(), opened({"hours": 2}, notice="cracked <script>alert(1)</script> & worse")
    )
    return http


async def page(http: httpx.AsyncClient, headers: Headers, recall: str = "rc-1", **asked: str) -> str:
    """Read a notice."""
    answered = await http.get(f"/v1/recalls/{recall}/notice", headers=headers, params=asked)
    assert answered.status_code == 200, answered.text
    assert answered.headers["content-type"].startswith("text/html")
    assert answered.headers["content-security-policy"] == "default-src 'none'; style-src 'unsafe-inline'"
    return answered.text


def sections(text: str) -> list[str]:
    """Cut a notice into its sections."""
    return re.findall("<section>.*?</section>", text, re.DOTALL)


def plain(section: str) -> str:
    """Give the words of a section."""
    return re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", section))


async def test_each_site_has_a_page_of_its_own(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """It says what is recalled, what to do, its units and stock, what is not known, and has room to sign."""
    yard, dock = sections(await page(fleet, administrator))
    told = plain(dock)

    assert "Recall rc-1: Harrow-Dock (harrow-dock)" in told
    assert "cracked &lt;script&gt;alert(1)&lt;/script&gt; &amp; worse" in told
    assert "item pf-170, lot L2411" in told
    assert "Stop using these units at once." in told
    assert "Units to be dealt with: 2" in told
    assert "FX-1, northwind-2, serial NW-FX-1 particle-filter pf-170 lot L2411 issued person p-3071 p-9" in told
    assert "FX-3, northwind-2, serial NW-FX-3 particle-filter pf-170 (may be another: look) in-store" in told
    assert "pf-170 L2411 8 each" in told
    assert "1: Units with a part that may be meant" in told
    assert re.search(r"it does not make a unit safe.*a competent person decide", told)
    assert "Name Date Signature" in told
    assert ("YD-1" in plain(yard), "FX-1" in plain(yard), "YD-1" in told, "FX-2" in told) == (True, False, False, False)
    assert "not on record (may be meant: look) 3 each" in plain(yard)


async def test_a_notice_runs_nothing_and_fetches_nothing(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """There is no script in it and no address of anything."""
    text = await page(fleet, administrator)

    assert not re.search(r"<script|<img|<link|<iframe|https?:|url\(|@import|\son[a-z]+=", text)


async def test_items_are_told_as_they_are_printed_on_their_boxes(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Those that it names, by the name, the part number and the GTIN that the firm has defined; no others."""
    filters = {"name": "Filter <170>", "part_number": "170-220", "gtin": "9521101530018"}
    await post(fleet, administrator, item(**filters), item(item="gf-20", name="Gas filter"))
    _, dock = sections(await page(fleet, administrator))

    assert "On boxes and parts look for: pf-170: Filter &lt;170&gt;, part number 170-220, GTIN 9521101530018" in plain(
        dock
    )
    assert "Gas filter" not in dock


async def test_an_old_box_is_found_by_what_was_printed_on_it(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Also once the item has another part number or GTIN: what is recalled was packed before. Each is told once."""
    old, new = {"part_number": "170-220", "gtin": "9521101530018"}, {"part_number": "170-221", "gtin": "09521101530100"}
    await post(fleet, administrator, item(**old))
    await post(fleet, administrator, item(**old | {"part_number": "170-221"}))
    await post(fleet, administrator, item(**new))
    _, dock = sections(await page(fleet, administrator))

    numbers = "part number 170-221, part number 170-220, GTIN 09521101530100, GTIN 9521101530018"
    assert f"pf-170: Particle filter 170, {numbers} What to do" in plain(dock)


async def test_items_that_may_sit_where_nothing_was_said_are_told_too(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Whoever opens the unit has to know what to look for, though the recall names a lot alone."""
    bare = registered("BR-1", site="north-lab", parts=[], occurred_at=ago(hours=29))
    lot = opened({"hours": 1}, "rc-b", criteria=[{"lot": BAD}])
    await post(fleet, administrator, site("north-lab"), item(name="Filter 170"), bare, lot)
    told = plain(await page(fleet, administrator, "rc-b", site="north-lab"))

    assert "BR-1, northwind-2, serial NW-BR-1" in told
    assert "On boxes and parts look for: pf-170: Filter 170" in told


async def test_a_recall_opened_again_is_told_with_all_its_words(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Each opening with its own words and what it names, in order; one without words says so, to some keys all do."""
    again: dict[str, Any] = {"action": "inspect", "criteria": [{"item": "pf-170", "lot": "L9"}]}
    await post(fleet, administrator, opened({"hours": 1}, **again, notice="more of them"))
    await post(fleet, administrator, opened({"minutes": 30}, **again))
    told = plain(await page(fleet, administrator, site="harrow-dock"))
    first, second, third = (
        told.index(words) for words in ("&amp; worse item pf-170", "more of them item", "No words of")
    )
    assert 0 < first < second < third < told.index("What to do")
    assert told.count("Opened on 2") == 3
    await post(fleet, administrator, opened({"minutes": 20}, **again))
    assert plain(await page(fleet, administrator, site="harrow-dock")).count("No words of") == 1
    unread = plain(await page(fleet, await keys.make("worker-representative")))
    assert (unread.count("This key reads no free text"), "more of them" in unread) == (4, False)
    recall = (await fleet.get("/v1/recalls/rc-1/impact", headers=administrator)).json()["recall"]
    openings = recall["openings"]
    assert [one["notice"] for one in openings] == [
        "cracked <script>alert(1)</script> & worse",
        "more of them",
        None,
        None,
    ]
    assert [(one["action"], one["criteria"]) for one in openings[1:]] == [("inspect", again["criteria"])] * 3
    assert (recall["notice"], openings[0]["opened_at"]) == ("more of them", recall["opened_at"])


async def test_what_counts_again_at_its_receipt_is_told_as_one_opening(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """A clock that is off opens a recall twice; it was opened once."""
    await post(fleet, administrator, opened({"hours": 5}, "rc-b", notice="once", sent_at=ago(hours=5)))
    assert "Opened on" not in await page(fleet, administrator, "rc-b")
    [told] = (await fleet.get("/v1/recalls/rc-b/impact", headers=administrator)).json()["recall"]["openings"]
    assert (told["notice"], told["opened_at"] < ago(hours=4)) == ("once", True)


async def test_where_a_unit_is_put_away_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Once put away, a unit is told with its place; what was dealt with is on the notice no more."""
    fixed = message("recall-actioned", asset="FX-3", recall="rc-1", result="not-affected", occurred_at=ago(minutes=5))
    await post(fleet, administrator, stopped("FX-1", {"minutes": 20}, place="cage-1"), fixed)
    told = plain(await page(fleet, administrator, site="harrow-dock"))

    assert "quarantined, cage-1 nobody on record p-9 put away by the records since" in told
    assert "Units to be dealt with: 1" in told


async def test_a_component_is_told_with_who_has_its_unit(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A battery with a tag of its own is looked for in the unit it is fitted in, at whoever has that."""
    battery = registered("BT-1", fitted_to="FX-1", parts=[], occurred_at=ago(hours=29))
    await post(fleet, administrator, battery, opened({"hours": 1}, "rc-b", criteria=[{"serials": ["NW-BT-1"]}]))
    told = plain(await page(fleet, administrator, "rc-b", site="harrow-dock"))

    assert "BT-1, northwind-2, serial NW-BT-1 the unit itself in-store, fitted in FX-1 person p-3071 p-9" in told


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"action": "rectify-by", "due_on": "2199-12-31"}, "put right as the maker says, by 2199-12-31"),
        ({"action": "inspect"}, "Have a competent person inspect each of these units, before they are used again"),
        ({"action": "information"}, "No unit is taken out of use for it."),
        ({"rehearsal": True}, "Rehearsal. Nothing is known to be wrong with these units."),
        ({}, "No words of the notice are on record here"),
    ],
)
async def test_what_is_asked_is_told_in_words(
    fleet: httpx.AsyncClient, administrator: Headers, fields: dict[str, object], words: str
) -> None:
    """Each action has its sentence, with its day where there is one."""
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", **fields))

    assert words in plain(await page(fleet, administrator, "rc-2"))


async def test_a_site_or_a_firm_without_any_is_told_so(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A site asked for has a page in any case; of a recall that reaches nothing there is one page."""
    nothing = [{"serials": ["S-0"]}]
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", criteria=nothing))
    (of_site,) = sections(await page(fleet, administrator, "rc-2", site="east-yard"))
    (of_none,) = sections(await page(fleet, administrator, "rc-2", as_at=ago(minutes=30)))

    assert "Units to be dealt with: 0 None is on record at this site." in plain(of_site)
    assert "What the records cannot tell" not in plain(of_site)
    assert "Recall rc-2: No site" in plain(of_none)
    assert "No unit and no stock of this recall is on record." in plain(of_none)


async def test_closed_and_voided_are_told(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """A campaign that ended and a recall that was taken back say so, and what stays."""
    one = opened({"hours": 1}, "rc-2")
    await post(fleet, administrator, one, closed("FX-1", "FX-3", "YD-1", recall="rc-2", minutes=20))
    void = message("voided", event=one["id"], reason="wrong lot", by="p-2", occurred_at=ago(minutes=10))
    await post(fleet, await keys.make("manager"), void)
    told = plain(await page(fleet, administrator, "rc-2"))

    assert "The campaign was closed on" in told
    assert "It was taken back on" in told


async def test_for_an_information_nothing_is_put_aside(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Units stay in use, and so does stock: the page does not say both."""
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", action="information"))
    asking, telling = [
        plain(await page(fleet, administrator, recall, site="harrow-dock")) for recall in ("rc-1", "rc-2")
    ]

    assert "No unit is taken out of use for it." in telling
    assert ("Put this stock aside" in asking, "Put this stock aside" in telling) == (True, False)
    assert "This stock is meant, too. It stays in use." in telling


async def test_a_rehearsal_that_was_closed_holds_nothing(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Its end is told, and not that any unit stays under it."""
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", rehearsal=True), closed(recall="rc-2", minutes=20))
    told = plain(await page(fleet, administrator, "rc-2"))

    assert "Rehearsal. Nothing is known to be wrong with these units." in told
    assert ("It was closed on" in told, "stay under it" in told) == (True, False)


async def test_a_projection_says_so(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Asked of a moment to come, the page says that it is a projection."""
    assert "This is a projection" in plain(await page(fleet, administrator, as_at=ago(hours=-24)))


async def test_a_key_of_a_site_prints_its_own(fleet: httpx.AsyncClient, keys: Keys) -> None:
    """A lead gets the page of the own site; a representative one without names and words."""
    lead = await keys.make("site-lead", ["east-yard"])
    answered = await fleet.get("/v1/recalls/rc-1/notice", headers=lead, params={"site": "harrow-dock"})
    representative = await page(fleet, await keys.make("worker-representative"), site="harrow-dock")

    assert [re.search(r"\(([a-z-]+)\)", plain(one)) is not None for one in sections(await page(fleet, lead))] == [True]
    assert answered.status_code == 404
    assert ("p-3071" in representative, "cracked" in representative, "person withheld" in representative) == (
        False,
        False,
        True,
    )


async def test_a_key_of_a_site_without_any_is_told_of_its_site_alone(fleet: httpx.AsyncClient, keys: Keys) -> None:
    """Units elsewhere are none of its business, and it is not told that there are none."""
    manager = await keys.make("manager")
    await post(
        fleet, manager, opened({"hours": 1}, "rc-2", criteria=[{"model": "northwind-2", "serials": ["NW-YD-1"]}])
    )
    (told,) = sections(await page(fleet, await keys.make("site-lead", ["harrow-dock"]), "rc-2"))

    assert "Recall rc-2: Harrow-Dock (harrow-dock)" in plain(told)
    assert "Units to be dealt with: 0 None is on record at this site." in plain(told)
    assert ("No unit and no stock" in told, "YD-1" in told.partition("What to do")[2]) == (False, False)


async def test_what_is_not_defined_is_told_where_nothing_was_found(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """That nothing is on record may come of a name that is misspelt: the page says so."""
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", criteria=[{"item": "pf-17O"}]))
    (told,) = sections(await page(fleet, administrator, "rc-2"))

    assert "No unit and no stock of this recall is on record." in plain(told)
    assert "What the records cannot tell 1: Items and models that the criteria name" in plain(told)


async def test_a_notice_is_a_page_and_nothing_else(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Asked for as data it is refused, and pointed to what it is had as."""
    answered = await fleet.get("/v1/recalls/rc-1/notice", headers=administrator | {"accept": "application/json"})

    assert (answered.status_code, answered.json()["offered"]) == (406, ["text/html"])


async def test_labels_of_parts_are_escaped(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A lot that is markup is shown as it was written."""
    await post(fleet, administrator, hood("FX-6", "<i>"), opened({"hours": 1}, "rc-2", criteria=[{"lot": "<i>"}]))

    assert "lot &lt;i&gt;" in await page(fleet, administrator, "rc-2")
    assert BAD not in plain(await page(fleet, administrator, "rc-2", as_at=ago(minutes=30))).split("Spare stock")[0]


async def test_every_lot_and_every_line_is_told_apart(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A lot may have a space in it, a notice lines of its own; a long name breaks before it leaves the paper."""
    lots = [{"item": "pf-170", "lots": ["L 1", "L 2"], "serials": ["S 1", "S 2"]}]
    words = "Look at:\nthe valve\nthe seal"
    await post(fleet, administrator, opened({"hours": 1}, "rc-3", criteria=lots, notice=words))
    text = await page(fleet, administrator, "rc-3")

    assert "<li>item pf-170, lots L 1 or L 2, serials S 1 or S 2</li>" in text
    assert f"<p class=said>{words}</p>" in text
    assert re.search(r"\.said \{[^}]*white-space: pre-line", text)
    assert re.search(r"body \{[^}]*overflow-wrap: anywhere", text)


async def test_no_text_turns_what_stands_beside_it(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Characters that turn the direction of reading are shown as a mark, in the words of the notice and in labels."""
    turned = "lot \u202e1142L\u2066 is safe"
    await post(
        fleet,
        administrator,
        hood("FX-6", turned),
        opened({"hours": 1}, "rc-2", notice=turned, criteria=[{"lot": turned}]),
    )
    text = await page(fleet, administrator, "rc-2")

    assert text.count("lot \ufffd1142L\ufffd is safe") == 5
    assert not re.search("[\u202a-\u202e\u2066-\u2069\u200e\u200f\u061c]", text)
