from typing import Any

import msgspec
import pytest

from service.domain.codec import decode
from service.domain.errors import Fault, Malformed

CHECK = {
    "id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
    "kind": "checked",
    "asset": "FX-0142",
    "occurred_at": "2026-03-02T05:51:40+00:00",
    "by": "p-3071",
    "points": {"airflow": "pass"},
}
MODEL = {
    "model": "ridge-40",
    "name": "Ridge 40",
    "device": "powered",
    "fit": "loose",
    "approvals": [],
    "positions": [{"position": "battery", "role": "battery", "items": ["bt-1"], "required": True}],
    "points": [{"point": "airflow", "role": "airflow", "required": True, "on_fail": "withdraw"}],
}
HEAD = {"id": CHECK["id"], "kind": "model-defined", "by": "p-1", "occurred_on": "2026-01-05"}


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
        ("/colour", "no such field here"),
        ("/by", "is needed"),
    ]


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


def test_fault_of_the_whole_is_told_when_nothing_in_it_is_wrong() -> None:
    """What is wrong only between fields is told once every field is right."""
    message = dict(CHECK)
    del message["occurred_at"]
    assert told(message) == [("/occurred_at", "one of occurred_at and occurred_on is needed")]


def test_one_fault_is_the_sentence_of_the_problem_several_are_counted() -> None:
    """The problem's own sentence is the fault with its place, or how many there are."""
    with pytest.raises(Malformed) as one:
        decode(msgspec.json.encode(CHECK | {"colour": "red"}))
    assert one.value.problem().detail == "/colour: no such field here"
    with pytest.raises(Malformed) as two:
        decode(msgspec.json.encode(CHECK | {"colour": "red", "size": "m"}))
    assert two.value.problem().detail == "2 things are wrong; each stands under 'errors' with its place."
    assert two.value.problem().errors == (
        Fault("no such field here", pointer="/colour"),
        Fault("no such field here", pointer="/size"),
    )


def test_faults_told_are_bounded() -> None:
    """Of a message with very many faults the first fifty are told, and no list longer than any event is looked into."""
    assert len(told(CHECK | {f"x{number}": 1 for number in range(90)})) == 50
    many = told(CHECK | {"points": {f"x y{number}": "pass" for number in range(500)}})
    assert [pointer for pointer, _ in many] == ["/points"]
