"""Histories handed on: the EPCIS document of a unit, over HTTP."""

from typing import Any

import httpx
import msgspec
import pytest

from service.http import paging
from tests.http.doors import OURS
from tests.http.firm import Headers, ago, checked, failed, issued, message, post
from tests.outbound.schema import faults

Json = dict[str, Any]
EPCIS = {"accept": "application/ld+json"}
HISTORY = "/v1/assets/FX-0142/history"
ROOT = f"https://id.invalid/{OURS}"


async def handed_on(http: httpx.AsyncClient, headers: Headers, **asked: str) -> list[Json]:
    """Ask for the history of the unit as EPCIS has it."""
    answered = await http.get(HISTORY, params=asked, headers=headers | EPCIS)
    assert answered.status_code == 200, answered.text
    assert answered.headers["content-type"].startswith("application/ld+json")
    events: list[Json] = answered.json()["epcisBody"]["eventList"]
    return events


def words(events: list[Json]) -> list[tuple[str, str, str | None]]:
    """Give the kind, the step and the disposition of events."""
    return [(event["respirators:kind"], event["bizStep"], event.get("disposition")) for event in events]


async def test_a_history_is_handed_on(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A document has the events in the order they happened, each told by what it proves, and says what they rest on."""
    await post(firm, administrator, checked(airflow_lpm=120.0, occurred_at=ago(hours=2.5)), issued())
    await post(firm, administrator, checked(points={"airflow": "pass"}, occurred_at=ago(hours=1)))
    told = (await firm.get(HISTORY, headers=administrator | EPCIS)).json()
    events = told["epcisBody"]["eventList"]

    assert (told["type"], told["schemaVersion"]) == ("EPCISDocument", "2.0")
    assert told["@context"] == [
        "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld",
        {"respirators": f"{ROOT}/terms/"},
    ]
    assert words(events) == [
        ("registered", "commissioning", "active"),
        ("registered", "installing", "active"),
        ("registered", "installing", "active"),
        ("issued", f"{ROOT}/terms/issuing", "in_progress"),
        ("checked", "inspecting", "non_conformant"),
        ("checked", "inspecting", None),
    ]
    assert events[4]["persistentDisposition"] == {"set": ["needs_replacement"]}
    assert {event["respirators:unit"] for event in events} == {events[0]["eventID"]}


async def test_a_history_is_valid_under_the_published_schema(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Of a unit to which everything happened, by days alone, taken back and late too, the document is valid."""
    wrong = issued(occurred_at=ago(hours=2))
    part = {"item": "bat-64", "lot": "B/25", "condition": "new"}
    await post(
        firm,
        administrator,
        message("cleaned", asset="FX-0142", scope="unit", method="wiped", occurred_on=ago(days=1)[:10]),
        wrong,
        checked(filter_loading=2, airflow_indicator="above"),
        failed(),
        message(
            "part-replaced", asset="FX-0142", position="battery", out={"serial": "x"}, reason="damage", **{"in": part}
        ),
        message("repaired", asset="FX-0142", work=["fan"]),
        message("released", asset="FX-0142"),
        message("quarantined", asset="FX-0142", reason="recall", recall="rc-1", place="cage"),
        message("retagged", asset="FX-0142", new_tag="FX-7"),
        message("retired", asset="FX-7", reason="other"),
        message("voided", event=wrong["id"], reason="the wrong unit", by="p-2"),
    )
    told = (await firm.get("/v1/assets/FX-7/history", headers=administrator | EPCIS)).json()

    assert len(told["epcisBody"]["eventList"]) == 19
    assert faults(told) == []


async def test_what_was_taken_back_stands_as_it_was_with_a_declaration(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """The event is the same but for the declaration; by what was known before, there is none."""
    wrong = checked()
    await post(firm, administrator, wrong)
    (before,) = await handed_on(firm, administrator, kind="checked")
    known = (await firm.get(HISTORY, headers=administrator)).json()["known_at"]
    await post(firm, administrator, message("voided", event=wrong["id"], reason="entered twice", by="p-2"))
    (after,) = await handed_on(firm, administrator, kind="checked")

    declared = after.pop("errorDeclaration")
    assert declared["reason"] == "did_not_occur"
    assert after == before
    assert await handed_on(firm, administrator, kind="checked", known_at=known) == [before]
    assert await handed_on(firm, administrator, kind="voided") == []


async def test_what_was_taken_back_is_told_of_the_unit_as_it_was_then(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """It was done where the unit was by then, and what it took out has the name that it had there.

    Receivers know an event by its content, too: by its hash (CBV 2.0, event hash ids) it is the one they have.
    """
    swap = {"in": {"item": "pf-170", "lot": "L2", "condition": "new"}, "out": {"item": "pf-170"}, "reason": "other"}
    wrong = [
        message("filter-replaced", asset="FX-0142", position="particle-filter", occurred_at=ago(hours=2), **swap),
        message("retagged", asset="FX-0142", new_tag="FX-7", occurred_at=ago(minutes=90)),
        checked("FX-7", occurred_at=ago(minutes=80)),
    ]
    await post(
        firm,
        administrator,
        message("moved", asset="FX-0142", to_site="east-yard", occurred_at=ago(hours=9)),
        message("received", asset="FX-0142", site="east-yard", occurred_at=ago(hours=8)),
        message(
            "filter-replaced",
            asset="FX-0142",
            position="particle-filter",
            occurred_at=ago(hours=7),
            reason="other",
            **{"in": {"item": "pf-170", "lot": "L1", "condition": "new"}},
        ),
        *wrong,
    )
    for one, address in zip(reversed(wrong), ("FX-7", "FX-7", "FX-0142"), strict=True):
        history = f"/v1/assets/{address}/history"
        asked = {"kind": one["kind"]}
        before = (await firm.get(history, params=asked, headers=administrator | EPCIS)).json()["epcisBody"]["eventList"]
        await post(firm, administrator, message("voided", event=one["id"], reason="the wrong unit", by="p-2"))
        told = [event for event in await handed_on(firm, administrator, **asked) if event.pop("errorDeclaration", None)]

        assert told == before[-len(told) :]
        assert {event["readPoint"]["id"] for event in told} == {f"{ROOT}/sites/east-yard"}


async def test_a_voiding_without_effect_declares_nothing(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Nobody takes back their own check that fails by its readings: it stands as it was."""
    low = checked(airflow_lpm=120.0)
    await post(firm, administrator, low)
    before = await handed_on(firm, administrator, kind="checked")
    await post(firm, administrator, message("voided", event=low["id"], reason="a slip"))

    assert before[0]["disposition"] == "non_conformant"
    assert await handed_on(firm, administrator, kind="checked") == before


async def test_what_a_new_check_puts_right_does_not_last(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A low battery does not pass, and lasts no longer than its check; what withdraws the unit lasts."""
    low = checked(points={"airflow": "pass", "battery": "fail"}, occurred_at=ago(hours=2))
    good = {"points": {"airflow": "pass", "battery": "pass"}, "airflow_lpm": 186.0}
    await post(firm, administrator, low, message("examined", asset="FX-0142", result="fail", **good))
    one, other = [(await handed_on(firm, administrator, kind=kind))[0] for kind in ("checked", "examined")]

    assert (one["disposition"], "persistentDisposition" in one) == ("non_conformant", False)
    assert (other["disposition"], other["persistentDisposition"]) == ("non_conformant", {"set": ["needs_replacement"]})


async def test_what_has_no_ground_proves_nothing(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An examination and a repair by nobody competent, and a release without ground, say nothing of the unit."""
    good = {"points": {"airflow": "pass", "battery": "pass"}, "airflow_lpm": 186.0}
    kinds = ("examined", "repaired", "released")
    await post(
        firm,
        administrator,
        failed(occurred_at=ago(hours=2)),
        message("examined", asset="FX-0142", result="pass", **good),
        message("repaired", asset="FX-0142", work=["fan"]),
        message("released", asset="FX-0142"),
    )
    without = [(await handed_on(firm, administrator, kind=kind))[0] for kind in kinds]
    may = message(
        "trained", person="p-3071", competences=["examine", "repair", "release"], by="p-1", occurred_at=ago(days=9)
    )
    await post(firm, administrator, may)
    by_competent = [(await handed_on(firm, administrator, kind=kind))[0] for kind in kinds]

    assert ["disposition" in event for event in without] == [False, False, False]
    assert [event["disposition"] for event in by_competent] == ["conformant", "conformant", "available"]
    assert by_competent[2]["persistentDisposition"] == {"unset": ["needs_replacement"]}


async def test_a_gtin_is_that_of_the_item_then(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Where the firm has defined a GTIN of an item, its parts are named by it."""
    item = {"item": "bat-64", "name": "Battery 64", "unit": "C62", "gtin": "9521101530018"}
    await post(firm, administrator, message("item-defined", **item))
    fitted = {"position": "battery", "in": {"item": "bat-64", "serial": "BT-1", "condition": "new"}, "reason": "other"}
    await post(firm, administrator, message("part-replaced", asset="FX-0142", **fitted))
    (event,) = await handed_on(firm, administrator, kind="part-replaced")

    assert event["childEPCs"] == ["https://id.gs1.org/01/09521101530018/21/BT-1"]


async def test_what_is_taken_out_has_the_name_it_was_put_in_by(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Whoever takes a part out may say its serial number alone, and write it as they like: it is what was known there.

    What is not what was known there is named as it was said, and what nobody named is not told.
    """
    known = {"item": "bat-64", "lot": "L1", "serial": "BT-1", "condition": "new"}
    fitted = {"asset": "FX-0142", "position": "battery", "reason": "other"}
    says: list[Json] = [{"serial": "BT-1"}, {"item": "bat-64", "lot": " l1", "serial": "bt-01"}, {"serial": "BT-9"}, {}]
    for nth, out in enumerate(says):
        at = [ago(minutes=50 - 10 * nth - later) for later in (0, 5)]
        await post(firm, administrator, message("part-replaced", **(fitted | {"in": known, "occurred_at": at[0]})))
        await post(firm, administrator, message("part-replaced", **(fitted | {"out": out, "occurred_at": at[1]})))
    told = await handed_on(firm, administrator, kind="part-replaced")
    put_in = {event["childEPCs"][0] for event in told if event["action"] == "ADD"}

    assert put_in == {f"{ROOT}/items/bat-64/serials/BT-1"}
    assert [event["childEPCs"] for event in told if event["action"] == "DELETE"] == [
        [f"{ROOT}/items/bat-64/serials/BT-1"],
        [f"{ROOT}/items/bat-64/serials/BT-1"],
        [f"{ROOT}/items/bat-64/serials/BT-9"],
    ]


async def test_a_gtin_that_an_item_gets_later_renames_no_part(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What sits in a unit is taken out by the name it was put in by, also where the firm has defined a GTIN since."""
    part = {"item": "bat-64", "lot": "L1", "condition": "new"}
    item: Json = {"item": "bat-64", "name": "Battery 64", "unit": "C62"}
    swap = {"position": "battery", "in": part, "out": {"item": "bat-64"}, "reason": "other"}
    swaps = [message("part-replaced", asset="FX-0142", **swap) | {"occurred_at": ago(minutes=at)} for at in (50, 40, 2)]
    last = message("part-replaced", asset="FX-7", occurred_at=ago(minutes=1), **swap)
    tagged = message("retagged", asset="FX-0142", new_tag="FX-7", occurred_at=ago(minutes=1.5))
    item |= {"correction": True, "reason": "kept before the records began"}
    await post(firm, administrator, message("item-defined", effective_from=ago(days=2), **item), *swaps[:2])
    item |= {"effective_from": ago(minutes=30), "gtin": "9521101530018"}
    await post(firm, administrator, message("item-defined", **item))
    looked = message("part-identified", asset="FX-0142", position="battery", part=part, occurred_at=ago(minutes=3))
    await post(firm, administrator, looked, swaps[2], tagged, last)
    told = (await firm.get("/v1/assets/FX-7/history", headers=administrator | EPCIS)).json()["epcisBody"]["eventList"]
    own, gs1 = f"{ROOT}/items/bat-64/lots/L1", "https://id.gs1.org/01/09521101530018/10/L1"
    battery = [event for event in told if event.get("respirators:position") == "battery"][2:]

    assert [(one["action"], one["childQuantityList"][0]["epcClass"]) for one in battery] == [
        ("ADD", own),
        ("DELETE", own),
        ("ADD", own),
        ("OBSERVE", own),
        ("DELETE", own),
        ("ADD", gs1),
        ("DELETE", gs1),
        ("ADD", gs1),
        ("DELETE", gs1),
        ("ADD", gs1),
    ]


async def test_what_is_put_in_under_one_tag_is_taken_out_under_the_next(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """Whoever reads the document finds each part in the name that it is taken out of."""
    filled = {"in": {"item": "bat-64", "serial": "BT-1", "condition": "new"}, "reason": "other", "position": "battery"}
    emptied = {"out": {"serial": "BT-1"}, "reason": "other", "position": "battery"}
    await post(
        firm,
        administrator,
        message("part-replaced", asset="FX-0142", occurred_at=ago(minutes=50), **filled),
        message("retagged", asset="FX-0142", new_tag="FX-7", occurred_at=ago(minutes=40)),
        message("part-replaced", asset="FX-7", occurred_at=ago(minutes=30), **emptied),
    )
    told = (await firm.get("/v1/assets/FX-7/history", headers=administrator | EPCIS)).json()["epcisBody"]["eventList"]
    battery = [one for one in told if one.get("childEPCs") == [f"{ROOT}/items/bat-64/serials/BT-1"]]

    assert [(one["action"], one["parentID"].removeprefix(f"{ROOT}/")) for one in battery] == [
        ("ADD", "FX-0142"),
        ("DELETE", "FX-0142"),
        ("ADD", "FX-7"),
        ("DELETE", "FX-7"),
    ]


async def test_what_is_identified_leaves_the_name_it_was_put_in_by(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """Whoever reads the document finds one part where one sits, and takes it out by the name it has by then.

    Looked at again it has the same name.
    """
    known = {"item": "pf-170", "lot": "L1", "condition": "new"}
    looked = {"asset": "FX-0142", "position": "particle-filter"}
    out = {"in": {"item": "pf-170", "lot": "L2", "condition": "new"}, "out": {"item": "pf-170"}, "reason": "other"}
    await post(
        firm,
        administrator,
        message("part-identified", part=known, occurred_at=ago(minutes=50), **looked),
        message("part-identified", part=known, occurred_at=ago(minutes=40), **looked),
        message("filter-replaced", occurred_at=ago(minutes=30), **looked, **out),
    )
    events = await handed_on(firm, administrator)
    filters = [
        (event["respirators:kind"], event["action"], event["childQuantityList"][0]["epcClass"].removeprefix(ROOT))
        for event in events
        if event.get("respirators:position") == "particle-filter"
    ]

    assert filters == [
        ("registered", "ADD", "/items/pf-170"),
        ("part-identified", "DELETE", "/items/pf-170"),
        ("part-identified", "ADD", "/items/pf-170/lots/L1"),
        ("part-identified", "OBSERVE", "/items/pf-170/lots/L1"),
        ("filter-replaced", "DELETE", "/items/pf-170/lots/L1"),
        ("filter-replaced", "ADD", "/items/pf-170/lots/L2"),
    ]
    assert faults((await firm.get(HISTORY, headers=administrator | EPCIS)).json()) == []


async def test_a_day_alone_counts_in_the_zone_of_its_site(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Good news of a day counts at its end and bad news at its start, by the clock on the wall there, within the day.

    That no more than the day is known stands beside it.
    """
    day = {"asset": "FX-0142", "occurred_on": "2025-07-10"}
    found = message(
        "registered", **(day | {"asset": "FX-9", "model": "northwind-2", "serial": "9", "site": "harrow-dock"})
    )
    await post(firm, administrator, found, message("missing", **(day | {"asset": "FX-9"})))
    told = (await firm.get("/v1/assets/FX-9/history", headers=administrator | EPCIS)).json()["epcisBody"]["eventList"]

    assert {(event["respirators:kind"], event["eventTime"], event["eventTimeZoneOffset"]) for event in told} == {
        ("missing", "2025-07-10T00:00:00+01:00", "+01:00"),
        ("registered", "2025-07-10T23:59:59.999999+01:00", "+01:00"),
    }
    assert {event["respirators:occurred_on"] for event in told} == {"2025-07-10"}


async def test_units_are_named_as_their_labels_name_them(labelling: httpx.AsyncClient, administrator: Headers) -> None:
    """Where the operator has set an address for labels, a unit's name is what its label says."""
    events = await handed_on(labelling, administrator)

    assert events[0]["epcList"] == [f"https://id.example.com/a/{OURS}/FX-0142"]
    told = await labelling.post("/v1/scans/interpretation", json={"scans": events[0]["epcList"]}, headers=administrator)
    assert [unit["tag"] for unit in told.json()["scans"][0]["assets"]] == ["FX-0142"]


async def test_a_document_has_all_there_is(
    firm: httpx.AsyncClient, administrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whole unless a limit is asked for, read in pieces that cannot be told; with one, a Link leads on."""
    await post(firm, administrator, *(checked(occurred_at=ago(minutes=60 - minute)) for minute in range(5)))
    whole = await handed_on(firm, administrator)
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 2)
    in_pieces = await handed_on(firm, administrator)
    first = await firm.get(HISTORY, params={"limit": 4}, headers=administrator | EPCIS)
    second = await firm.get(first.links["next"]["url"], headers=administrator | EPCIS)
    pages = [answered.json()["epcisBody"]["eventList"] for answered in (first, second)]

    assert len(whole) == 8
    assert in_pieces == whole
    assert [len(page) for page in pages] == [6, 2]
    assert [*pages[0], *pages[1]] == whole
    assert "next" not in second.links


async def test_nothing_that_is_told_makes_an_empty_document(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Where no event is wanted, or none that happened to a thing, the document has no events and is one."""
    use = message("use-set", asset="FX-0142", use="emergency", authorised_by="p-1")
    await post(firm, administrator, use)

    assert await handed_on(firm, administrator, kind="use-set") == []
    assert await handed_on(firm, administrator, kind="worn") == []
    head = await firm.head(HISTORY, headers=administrator | EPCIS)
    assert (head.status_code, head.content) == (200, b"")


async def test_a_document_asked_for_again_is_the_same_to_the_byte(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """With what was known at a moment, it is the same document whatever was recorded since."""
    await post(firm, administrator, checked())
    known = msgspec.json.decode((await firm.get(HISTORY, headers=administrator)).content)["known_at"]
    asked = {"known_at": known}
    first = await firm.get(HISTORY, params=asked, headers=administrator | EPCIS)
    await post(firm, administrator, failed())

    assert (await firm.get(HISTORY, params=asked, headers=administrator | EPCIS)).content == first.content
