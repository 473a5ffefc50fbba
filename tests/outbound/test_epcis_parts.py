"""Parts in EPCIS: what is fitted and taken out, and by which names."""

from typing import Any

import pytest

from service.domain.kinds import BY_NAME
from service.outbound.epcis.parts import items
from tests.outbound.acts import ROOT, act, told

Json = dict[str, Any]
GTIN = "9521101530018"
UNIT = f"{ROOT}/FX-0142"
IN: Json = {"item": "pf-170", "condition": "new"}


def test_a_part_replaced_is_one_taken_out_and_one_put_in() -> None:
    """Both stand with the unit as parent, their position and what is known of them; the first has our event's id."""
    out, new = told("filter-replaced", {"out": {"item": "pf-170", "lot": "L2409"}})

    assert (out["type"], out["parentID"], out["action"]) == ("AssociationEvent", UNIT, "DELETE")
    assert (out["bizStep"], out["disposition"]) == ("removing", "needs_replacement")
    assert out["childQuantityList"] == [{"epcClass": f"{ROOT}/items/pf-170/lots/L2409", "quantity": 1}]
    assert out["eventID"] == f"urn:uuid:{BY_NAME['filter-replaced'].example['id']}"
    assert (new["action"], new["bizStep"], new["disposition"]) == ("ADD", "installing", "active")
    assert new["childEPCs"] == [f"{ROOT}/items/pf-170/serials/PF-93"]
    assert {name: new[f"respirators:{name}"] for name in ("position", "item", "lot", "serial", "expires")} == {
        "position": "particle-filter",
        "item": "pf-170",
        "lot": "L2411",
        "serial": "PF-93",
        "expires": "2029-05-31",
    }


@pytest.mark.parametrize(
    ("reason", "expected"),
    [
        ("damage", "damaged"),
        ("contamination", "damaged"),
        ("expiry", "expired"),
        ("recall", "recalled"),
        ("schedule", "needs_replacement"),
        ("other", "unknown"),
    ],
)
def test_a_part_is_afterwards_as_the_reason_says(reason: str, expected: str) -> None:
    """Only what was damaged is told to be damaged."""
    assert told("part-replaced", {"reason": reason})[0]["disposition"] == expected


def test_what_nobody_named_is_not_told() -> None:
    """A part taken out that nobody named makes no event, since without a name every part would be meant."""
    assert [event["action"] for event in told("part-replaced", {"out": None})] == ["ADD"]
    assert [event["action"] for event in told("part-replaced", {"out": {}})] == ["ADD"]
    assert [event["action"] for event in told("part-replaced", {"in": None})] == ["DELETE"]


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ({"serial": "PF-88"}, "https://id.gs1.org/01/09521101530018/21/PF-88"),
        ({"serial": "PF/88+"}, "https://id.gs1.org/01/09521101530018/21/PF%2F88%2B"),
        ({"serial": "a serial longer than twenty"}, f"{ROOT}/items/pf-170/serials/a%20serial%20longer%20than%20twenty"),
        ({"serial": "Nº 1"}, f"{ROOT}/items/pf-170/serials/N%C2%BA%201"),
        ({"lot": "L2411"}, "https://id.gs1.org/01/09521101530018/10/L2411"),
        ({}, "https://id.gs1.org/01/09521101530018"),
    ],
)
def test_a_gtin_names_a_part_where_gs1_knows_its_number(part: Json, expected: str) -> None:
    """Where the firm has a GTIN of the item, of 14 digits; a number that GS1 does not know has an address of ours."""
    (event,) = told("part-replaced", {"in": IN | part, "out": None}, gtins={"pf-170": GTIN})

    assert [*event.get("childEPCs", ()), *(one["epcClass"] for one in event.get("childQuantityList", ()))] == [expected]


def test_no_gtin_is_invented() -> None:
    """Without one of the item there is none, whatever else has one."""
    (event,) = told("part-replaced", {"in": IN | {"serial": "PF-88"}, "out": None}, gtins={"bat-64": GTIN})

    assert event["childEPCs"] == [f"{ROOT}/items/pf-170/serials/PF-88"]


def test_a_part_without_its_item_has_a_name_by_its_number() -> None:
    """What is known of a part that was taken out is all that its name says."""
    out, _ = told("part-replaced", {"out": {"serial": "BT-1988"}})

    assert out["childEPCs"] == [f"{ROOT}/serials/BT-1988"]


def test_a_registered_unit_has_its_parts_and_is_one() -> None:
    """What it came with is installed, and the unit itself in the one it is fitted to."""
    unit, part, fitted = told("registered")

    assert unit["ilmd"] == {
        "respirators:model": "northwind-2",
        "respirators:serial": "NW2-004417",
        "respirators:made_on": "2025-06-11",
        "respirators:size": "M",
    }
    assert (part["parentID"], part["respirators:lot"], part["respirators:expires"]) == (UNIT, "L2409", "2029-03")
    assert (fitted["parentID"], fitted["childEPCs"]) == (f"{ROOT}/FX-0140", [UNIT])
    assert {part["action"], fitted["action"]} == {"ADD"}


def test_a_part_that_was_looked_at_is_seen_and_not_fitted() -> None:
    """Nothing was changed: it is observed in its place."""
    (event,) = told("part-identified")

    assert (event["type"], event["action"], event["bizStep"]) == ("AssociationEvent", "OBSERVE", "inspecting")
    assert event["childEPCs"] == [f"{ROOT}/items/tube-9/serials/TB-310"]


@pytest.mark.parametrize(
    ("unit", "lot", "expected"),
    [
        ("C62", "L2411", {"epcClass": f"{ROOT}/items/pf-170/lots/L2411", "quantity": 40.0}),
        ("KGM", None, {"epcClass": f"{ROOT}/items/pf-170", "quantity": 40.0, "uom": "KGM"}),
        ("carton-of-4", None, {"epcClass": f"{ROOT}/items/pf-170", "quantity": 40.0}),
    ],
)
def test_stock_is_a_quantity_of_a_lot(unit: str, lot: str | None, expected: Json) -> None:
    """Pieces have no unit in EPCIS, and a unit of the firm's own cannot be told."""
    (event,) = told("stock-received", {"unit": unit, "lot": lot})

    assert event["quantityList"] == [expected]
    assert event["bizTransactionList"] == [{"type": "po", "bizTransaction": f"{ROOT}/orders/PO%2F2026%2F0071"}]
    assert event["respirators:expires"] == "2029-05"


def test_the_items_of_an_event_are_known() -> None:
    """Whatever it names a part or a quantity of, so that its GTIN can be looked up."""
    assert items(act("registered").recorded.event) == {"pf-170"}
    assert items(act("part-replaced", {"out": {"item": "bat-60"}}).recorded.event) == {"bat-60", "bat-64"}
    assert items(act("stock-received").recorded.event) == {"pf-170"}
    assert items(act("returned").recorded.event) == set()
