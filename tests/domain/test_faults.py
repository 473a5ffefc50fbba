from typing import Any

import msgspec
import pytest

from service.domain.codec import decode
from service.domain.errors import Malformed
from service.domain.problem import Fault

CHECK = {
    "id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
    "kind": "checked",
    "asset": "FX-0142",
    "occurred_at": "2026-03-02T05:51:40+00:00",
    "by": "p-3071",
    "points": {"airflow": "pass"},
}
MODEL: dict[str, Any] = {
    "model": "ridge-40",
    "name": "Ridge 40",
    "device": "powered",
    "fit": "loose",
    "approvals": [],
    "positions": [{"position": "battery", "role": "battery", "items": ["bt-1"], "required": True}],
    "points": [{"point": "airflow", "role": "airflow", "required": True, "on_fail": "withdraw"}],
}
HEAD = {"id": CHECK["id"], "kind": "model-defined", "by": "p-1", "occurred_on": "2026-01-05"}


KNOWN = (
    "no such field here; known are id, occurred_at, occurred_on, by, site, device, device_seq, sent_at, remark, asset, "
    "points, airflow_lpm, airflow_indicator, battery_percent, capacity_percent, filter_loading, wearer, instrument, "
    "action"
)
"""What is told of the first field of a check that is none, where none is near."""


def told(message: dict[str, Any]) -> list[tuple[str | None, str]]:
    """Give what is told of a message that is refused."""
    with pytest.raises(Malformed) as refused:
        decode(msgspec.json.encode(message))
    return [(fault.pointer, fault.detail) for fault in refused.value.faults]


def test_every_fault_of_a_message_is_told_at_once() -> None:
    """Fields of the wrong form, unknown fields and missing ones are told together, each with its place."""
    message = CHECK | {"airflow_lpm": -5, "asset": "FX 1", "colour": "red"}
    del message["by"]
    assert told(message) == [
        ("/asset", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
        ("/airflow_lpm", "must be at least 0"),
        ("/colour", KNOWN),
        ("/by", "is needed"),
    ]


@pytest.mark.parametrize("name", ["seq", "recorded_at", "received_at", "conflicts", "voided_by", "time_doubts"])
def test_what_the_service_adds_is_left_out(name: str) -> None:
    """Whoever sends back what was read is told which of its fields are the service's own."""
    assert told(CHECK | {name: 1}) == [(f"/{name}", "no such field here; the service says this itself: leave it out")]


def test_faults_of_entries_name_the_entry() -> None:
    """Of an object with free names each entry is told by its name, the name's own fault before that of its value."""
    assert told(CHECK | {"points": {"a/b": "pass", "airflow": "good"}}) == [
        ("/points/a~1b", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
        ("/points/airflow", "must be one of pass, fail, not-applicable"),
    ]


def test_faults_within_lists_name_the_place() -> None:
    """Objects in lists are looked into."""
    wrong = {"position": "hose", "role": "pipe", "items": ["x y"], "required": 1}
    assert told(HEAD | MODEL | {"positions": [*MODEL["positions"], wrong], "approvals": [{"class": "TH3"}]}) == [
        ("/approvals/0/jurisdiction", "is needed"),
        ("/approvals/0/standard", "is needed"),
        ("/approvals/0/edition", "is needed"),
        (
            "/positions/1/role",
            "must be one of particle, gas, pre-filter, spark-arrestor, tube, battery, headtop, other",
        ),
        ("/positions/1/items/0", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
        ("/positions/1/required", "must be true or false, not a whole number"),
    ]


WORN = CHECK | {"kind": "worn", "wearer": "p-3071"}
del WORN["points"]


@pytest.mark.parametrize(
    ("message", "without", "expected"),
    [
        (CHECK, "occurred_at", [("/occurred_at", "one of occurred_at and occurred_on is needed")]),
        (
            CHECK | {"asset": "FX 1"},
            "occurred_at",
            [
                ("/asset", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
                ("/occurred_at", "one of occurred_at and occurred_on is needed"),
            ],
        ),
        (
            CHECK | {"occurred_on": "2026-03-02", "colour": "red"},
            "by",
            [
                ("/colour", KNOWN),
                ("/by", "is needed"),
                ("/occurred_on", "only one of occurred_at and occurred_on may be given"),
            ],
        ),
        (
            WORN | {"until": "2026-03-01T05:00:00+00:00", "sent_at": "1815-06-18T11:35:00+00:00"},
            "wearer",
            [
                ("/wearer", "is needed"),
                ("/sent_at", "the year must be 1900 to 2200"),
                ("/until", "must not lie before occurred_at, its start"),
            ],
        ),
        (
            HEAD | MODEL | {"points": MODEL["points"] * 3, "correction": True},
            "by",
            [
                ("/by", "is needed"),
                ("/effective_from", "a correction says since when it holds"),
                ("/reason", "a correction needs a reason"),
                ("/points/1/point", "airflow is named twice"),
                ("/points/2/point", "airflow is named twice"),
            ],
        ),
    ],
    ids=("alone", "beside a field", "both given", "beside a missing field", "several"),
)
def test_faults_between_fields_are_told_with_those_of_fields(
    message: dict[str, Any], without: str, expected: list[tuple[str, str]]
) -> None:
    """What is wrong between fields that are right by themselves is told whatever else is wrong."""
    assert told({name: value for name, value in message.items() if name != without}) == expected


def test_nothing_is_concluded_from_a_field_that_is_wrong() -> None:
    """A moment that cannot be read is no missing one, and nothing is compared with it."""
    moment = "must be an instant such as 2026-03-02T05:51:40+00:00; a leap second (:60) is not taken, send :59"
    assert told(WORN | {"until": "2026-03-01T05:00:00+00:00", "occurred_at": "soon"}) == [("/occurred_at", moment)]


def test_faults_between_the_fields_of_a_part_are_told_in_its_place() -> None:
    """A part of a message is looked into like the message."""
    holder = {"person": "p-1", "crew": "c-1"}
    message = CHECK | {"kind": "issued", "holder": holder, "colour": "red"}
    del message["points"]
    assert told(message) == [
        ("/holder/crew", "only one of person, crew, vehicle and place may be given"),
        ("/colour", KNOWN.partition("points")[0] + "holder, task"),
    ]


@pytest.mark.parametrize(
    ("kind", "sentence"),
    [("chequed", "'chequed' is no kind of event; openapi.json lists the kinds"), (7, "must be a text")],
)
def test_the_envelope_is_looked_into_whatever_the_kind(kind: object, sentence: str) -> None:
    """Beside a kind that there is not the faults of what all kinds have are told, and fields that no kind has."""
    wrong = {"kind": kind, "id": "7", "colour": "red", "asset": "any", "occurred_on": "2026-03-02"}
    assert told(CHECK | wrong) == [
        ("/kind", sentence),
        ("/id", "must be a UUID such as 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"),
        ("/colour", "no such field here"),
        ("/occurred_on", "only one of occurred_at and occurred_on may be given"),
    ]


def test_a_message_without_a_kind_is_looked_into_too() -> None:
    """That the kind is missing hides nothing of the envelope."""
    assert told({"asset": "FX-1", "occurred_on": "2026-03-02"}) == [
        ("/kind", "is needed"),
        ("/id", "is needed"),
        ("/by", "is needed"),
    ]


def test_one_fault_is_the_sentence_of_the_problem_several_are_counted() -> None:
    """The problem's own sentence is the fault with its place, or how many there are."""
    with pytest.raises(Malformed) as one:
        decode(msgspec.json.encode(CHECK | {"colour": "red"}))
    assert one.value.problem().detail == f"/colour: {KNOWN}"
    with pytest.raises(Malformed) as two:
        decode(msgspec.json.encode(CHECK | {"colour": "red", "size": "m"}))
    assert two.value.problem().detail == "2 things are wrong; each stands under 'errors' with its place."
    assert two.value.problem().errors == (
        Fault(KNOWN, pointer="/colour"),
        Fault("no such field here", pointer="/size"),
    )


def test_faults_told_are_bounded() -> None:
    """Of a message with very many faults the first fifty are told, and no list longer than any event is looked into."""
    assert len(told(CHECK | {f"x{number}": 1 for number in range(90)})) == 50
    many = told(CHECK | {"points": {f"x y{number}": "pass" for number in range(500)}})
    assert [pointer for pointer, _ in many] == ["/points"]
