"""Which words of CBV tell what happened: the mapping, row by row."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import msgspec
import pytest

from service.domain.kinds import BY_NAME
from service.domain.part import Part, PlacedPart
from service.outbound.epcis.document import document
from service.outbound.epcis.table import ASSOCIATED, LEFT_OUT, OBJECTS, STOCK
from tests.outbound.acts import NAMES, RECORDED, ROOT, UNIT, told, whole
from tests.outbound.schema import faults

Json = dict[str, Any]
TERMS = f"{ROOT}/terms"

ROWS: list[tuple[str, Json, Json, tuple[str, str, str | None]]] = [
    ("registered", {}, {}, ("ADD", "commissioning", "active")),
    ("issued", {}, {}, ("OBSERVE", f"{TERMS}/issuing", "in_progress")),
    ("returned", {}, {}, ("OBSERVE", "receiving", "returned")),
    ("stationed", {}, {}, ("OBSERVE", f"{TERMS}/stationing", "in_progress")),
    ("moved", {}, {}, ("OBSERVE", "shipping", "in_transit")),
    ("received", {}, {}, ("OBSERVE", "receiving", "in_progress")),
    ("sent-to-service", {}, {}, ("OBSERVE", "shipping", "in_transit")),
    ("worn", {}, {}, ("OBSERVE", f"{TERMS}/wearing", "in_progress")),
    ("checked", {}, {"outcome": "passing"}, ("OBSERVE", "inspecting", "conformant")),
    ("checked", {}, {"outcome": "incomplete"}, ("OBSERVE", "inspecting", None)),
    ("checked", {}, {"outcome": "failing"}, ("OBSERVE", "inspecting", "non_conformant")),
    ("failed-check", {}, {"outcome": "failing"}, ("OBSERVE", "inspecting", "non_conformant")),
    ("failed-in-use", {}, {}, ("OBSERVE", f"{TERMS}/failing-in-use", "non_conformant")),
    ("examined", {}, {"outcome": "passing"}, ("OBSERVE", "inspecting", "conformant")),
    ("examined", {}, {"outcome": "failing"}, ("OBSERVE", "inspecting", "non_conformant")),
    ("cleaned", {}, {}, ("OBSERVE", f"{TERMS}/cleaning", None)),
    ("repaired", {}, {"outcome": "passing"}, ("OBSERVE", "repairing", "conformant")),
    ("repaired", {}, {"outcome": "incomplete"}, ("OBSERVE", "repairing", None)),
    ("quarantined", {"reason": "damage"}, {}, ("OBSERVE", "holding", "unavailable")),
    ("quarantined", {"reason": "recall"}, {}, ("OBSERVE", "holding", "recalled")),
    ("released", {}, {"outcome": "passing"}, ("OBSERVE", "inspecting", "available")),
    ("released", {}, {"outcome": "incomplete"}, ("OBSERVE", "inspecting", None)),
    ("missing", {}, {}, ("OBSERVE", f"{TERMS}/missing", "unknown")),
    ("found", {}, {}, ("OBSERVE", f"{TERMS}/finding", "unavailable")),
    ("recall-actioned", {"result": "fixed"}, {}, ("OBSERVE", "repairing", "conformant")),
    ("recall-actioned", {"result": "not-affected"}, {}, ("OBSERVE", "inspecting", "conformant")),
    ("recall-actioned", {"result": "scrapped"}, {}, ("OBSERVE", "inspecting", "non_conformant")),
    ("retired", {}, {}, ("DELETE", "decommissioning", "inactive")),
    ("stock-received", {}, {}, ("OBSERVE", "receiving", "in_progress")),
    ("stock-counted", {}, {}, ("OBSERVE", "stock_taking", None)),
    ("stock-moved", {}, {}, ("OBSERVE", "shipping", "in_transit")),
    ("stock-discarded", {}, {}, ("DELETE", "destroying", "disposed")),
]


@pytest.mark.parametrize(("kind", "said", "known", "expected"), ROWS)
def test_a_kind_is_told_in_these_words(kind: str, said: Json, known: Json, expected: tuple[str, str, str]) -> None:
    """Each kind has its action, its step and how the thing is afterwards, which a judged one has by what it proves."""
    first = told(kind, said, **known)[0]

    assert first["type"] == "ObjectEvent"
    assert (first["action"], first["bizStep"], first.get("disposition")) == expected


def test_every_kind_is_told_or_left_out_for_a_reason() -> None:
    """A new kind is told in words of its own, or stands in the list of those that are not."""
    mapped = {kind.partition(" ")[0] for kind in (*OBJECTS, *STOCK)} | set(ASSOCIATED)

    assert mapped | set(LEFT_OUT) == set(BY_NAME)
    assert mapped & set(LEFT_OUT) == set()
    assert [event for kind in LEFT_OUT for event in told(kind)] == []
    assert all(LEFT_OUT.values())


def test_an_event_says_when_and_what_it_was() -> None:
    """It has the id, the moment and the offset of its sender, when it was recorded, its kind and the unit's own id."""
    (event,) = told("returned", {"occurred_at": "2026-07-02T05:51:40+01:00"})

    assert event == {
        "type": "ObjectEvent",
        "eventID": f"urn:uuid:{BY_NAME['returned'].example['id']}",
        "eventTime": "2026-07-02T05:51:40+01:00",
        "eventTimeZoneOffset": "+01:00",
        "recordTime": "2026-03-02T05:51:42+00:00",
        "epcList": [f"{ROOT}/FX-0142"],
        "action": "OBSERVE",
        "bizStep": "receiving",
        "disposition": "returned",
        "readPoint": {"id": f"{ROOT}/sites/harrow-dock"},
        "bizLocation": {"id": f"{ROOT}/sites/harrow-dock/places/store-a"},
        "respirators:kind": "returned",
        "respirators:unit": f"urn:uuid:{UNIT}",
    }


@pytest.mark.parametrize(
    ("offset", "expected"),
    [
        (timedelta(hours=14), "+14:00"),
        (timedelta(hours=-5, minutes=-30), "-05:30"),
        (timedelta(hours=15), "+00:00"),
        (timedelta(minutes=-1, seconds=-15), "+00:00"),
    ],
)
def test_an_offset_that_epcis_cannot_write_is_utc(offset: timedelta, expected: str) -> None:
    """Past 14 hours, and of parts of a minute, as local times once had, the moment is told in UTC."""
    at = datetime(1900, 1, 1, 12, tzinfo=UTC)
    (event,) = told("returned", {"occurred_at": None, "occurred_on": "1900-01-01"}, at=at.astimezone(timezone(offset)))

    assert event["eventTimeZoneOffset"] == expected
    assert event["eventTime"].endswith(expected)
    assert datetime.fromisoformat(event["eventTime"]) == at


def test_what_was_taken_back_is_the_same_event_with_a_declaration() -> None:
    """Nothing else of it changes, in every event that tells of it."""
    before = told("part-replaced")
    after = told("part-replaced", voided_at=datetime(2026, 3, 3, tzinfo=UTC))
    declared = {"declarationTime": "2026-03-03T00:00:00+00:00", "reason": "did_not_occur"}

    assert len(after) == 2
    assert after == [event | {"errorDeclaration": declared} for event in before]


def test_a_failure_lasts_until_a_release_that_has_its_ground() -> None:
    """What withdraws a unit sets that it is to be replaced, a release that counts unsets it; nothing else does."""
    (failed,) = told("checked", outcome="failing", withdraws=True)
    (low,) = told("checked", outcome="failing")
    (released,) = told("released", outcome="passing")
    (useless,) = told("released", outcome="incomplete")

    assert failed["persistentDisposition"] == {"set": ["needs_replacement"]}
    assert released["persistentDisposition"] == {"unset": ["needs_replacement"]}
    assert {"persistentDisposition"} & (set(low) | set(useless)) == set()


def test_a_check_tells_its_readings() -> None:
    """Each reading has its type, value and unit, the flow the instrument too; steps of indicators are our own words."""
    (event,) = told("checked")
    (by_position,) = told("failed-check")
    (element,) = event["sensorElementList"]

    assert element["sensorReport"] == [
        {
            "type": "VolumeFlowRate",
            "value": 186.0,
            "uom": "L2",
            "deviceID": f"{ROOT}/instruments/flow-meter-2",
            "respirators:reading": "airflow_lpm",
        },
        {"type": "Dimensionless", "value": 84.0, "uom": "P1", "respirators:reading": "battery_percent"},
        {"type": "Dimensionless", "value": 91.5, "uom": "P1", "respirators:reading": "capacity_percent"},
        {"type": f"{TERMS}/airflow_indicator", "stringValue": "above"},
        {"type": f"{TERMS}/filter_loading", "value": 1},
    ]
    assert by_position["sensorElementList"][0]["sensorReport"][-1] == {
        "type": f"{TERMS}/filter_loading",
        "value": 2,
        "respirators:position": "pre-filter",
    }
    assert {"respirators:point": "battery", "respirators:result": "pass"} in event["respirators:points"]
    assert event["bizTransactionList"] == [
        {"type": "testres", "bizTransaction": f"{ROOT}/events/{BY_NAME['checked'].example['id']}"}
    ]
    (bare,) = told("checked", dict.fromkeys(READ) | {"points": {}})
    assert {"sensorElementList", "respirators:points"} & set(bare) == set()


READ = ("airflow_lpm", "airflow_indicator", "battery_percent", "capacity_percent", "filter_loading")


def test_an_examination_names_its_certificate_and_a_quarantine_its_recall() -> None:
    """Papers stand beside as transactions; a slash in a number is no step of an address."""
    examined, quarantined = told("examined")[0], told("quarantined")[0]

    assert examined["bizTransactionList"][1] == {
        "type": "cert",
        "bizTransaction": f"{ROOT}/certificates/EX%2F2026%2F0311",
    }
    assert quarantined["bizTransactionList"] == [
        {"type": f"{TERMS}/recall", "bizTransaction": f"{ROOT}/recalls/rc-2026-01"}
    ]


@pytest.mark.parametrize(
    ("kind", "said", "expected"),
    [
        ("issued", {}, None),
        ("issued", {"holder": {"crew": "c-1"}}, ("possessing_party", f"{ROOT}/crews/c-1")),
        ("issued", {"holder": {"vehicle": "v-1"}}, ("possessing_party", f"{ROOT}/vehicles/v-1")),
        ("issued", {"holder": {"place": "bay-1"}}, ("location", f"{ROOT}/sites/harrow-dock/places/bay-1")),
        ("moved", {}, ("location", f"{ROOT}/sites/tern-yard")),
        ("sent-to-service", {}, ("possessing_party", f"{ROOT}/providers/workshop-1")),
        ("stock-moved", {}, ("location", f"{ROOT}/sites/tern-yard")),
    ],
)
def test_where_a_unit_goes(kind: str, said: Json, expected: tuple[str, str] | None) -> None:
    """A crew, a vehicle, a place, another site or a workshop is told; a person is not."""
    event = told(kind, said)[0]
    found = None if expected is None else [{"type": expected[0], "destination": expected[1]}]

    assert event.get("destinationList") == found


def test_what_leaves_has_no_place_afterwards() -> None:
    """On its way, lost or gone for good, a unit is nowhere; where the site is not known nothing is said of it."""
    gone = [told(kind)[0] for kind in ("moved", "sent-to-service", "missing", "retired", "stock-moved")]

    assert [("readPoint" in event, "bizLocation" in event) for event in gone] == [(True, False)] * 5
    assert {"readPoint", "bizLocation"} & set(told("returned", site=None)[0]) == set()


def test_a_new_tag_is_a_new_name_of_the_same_unit() -> None:
    """The old name ends and the new one begins; the unit's own id stays."""
    old, new = told("retagged")

    assert (old["action"], old["bizStep"], old["epcList"]) == ("DELETE", "decommissioning", [f"{ROOT}/FX-0142"])
    assert (new["action"], new["bizStep"], new["epcList"]) == ("ADD", "commissioning", [f"{ROOT}/FX-1142"])
    assert old["respirators:unit"] == new["respirators:unit"]
    assert old["eventID"] != new["eventID"]


def test_what_is_fitted_goes_with_the_unit_to_its_new_name() -> None:
    """What was known to sit in it then leaves the old name and is in the new one; nobody took anything out."""
    battery = Part(item="bat-64", serial="BT-1", condition="new")
    *_, left, came = told("retagged", carried=(PlacedPart(position="battery", part=battery),))

    assert (left["type"], left["action"], left["parentID"]) == ("AssociationEvent", "DELETE", f"{ROOT}/FX-0142")
    assert (came["type"], came["action"], came["parentID"]) == ("AssociationEvent", "ADD", f"{ROOT}/FX-1142")
    assert left["childEPCs"] == came["childEPCs"] == [f"{ROOT}/items/bat-64/serials/BT-1"]
    assert left["bizStep"] == came["bizStep"] == f"{ROOT}/terms/retagging"
    assert (left["respirators:position"], "bizLocation" in left, "bizLocation" in came) == ("battery", False, True)
    assert faults(msgspec.to_builtins(document(NAMES, RECORDED, [left, came]))) == []


def test_no_two_events_of_a_history_have_one_id() -> None:
    """Each act's first event has the id of ours, others ids of their own, the same each time."""
    every = [event["eventID"] for kind in BY_NAME for event in told(kind)]

    assert len(set(every)) == len(every)
    assert every == [event["eventID"] for kind in BY_NAME for event in told(kind)]


def test_no_person_device_or_free_text_is_handed_on() -> None:
    """Whoever did it, wore it, has it or allowed it, what it was posted from and what was remarked stays here."""
    written = str(whole())

    assert [word for word in SECRETS if word in written] == []


SECRETS = (
    *("p-3071", "p-1002", "kiosk-3", "entered at the gate", "tube connection tightened", "buckle"),
    *("shell to metal scrap", "Harrow Fabrication", "put aside", "hull-welding"),
)
