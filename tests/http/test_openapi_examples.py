"""The examples of the description: posted, read back, and held against their schemas."""

from typing import Any

import httpx
import msgspec
import pytest

from service.domain.codec import decode
from service.domain.kinds import KINDS
from service.http.describing.problem_examples import EXAMPLES
from service.http.shapes.table import SHOWS
from service.problems import ROWS
from tests.http.contract import document, validator
from tests.http.firm import registered, site

Json = dict[str, Any]

ADDED_TO_ONE = {"seq", "recorded_at", "received_at", "conflicts", "time_doubts"}
BY_KIND = {kind.kind: kind for kind in KINDS}


def beside() -> tuple[list[Json], list[Json]]:
    """Give what the examples name beside each other: a second site, then a unit and two events taken back."""
    yard = site("tern-yard", occurred_at="2026-03-01T00:00:00Z")
    unit = registered("FX-0140", occurred_at="2026-03-02T05:00:00Z")
    named = BY_KIND["voided"].example["event"], BY_KIND["released"].example["voiding"]
    return [yard], [unit, *(BY_KIND["stock-received"].example | {"id": ident} for ident in named)]


def in_order() -> list[Json]:
    """Give every example and what stands beside, each after what it names."""
    definitions = [kind.example for kind in KINDS if kind.family == "reference"]
    rest = [kind.example for kind in KINDS if kind.family != "reference" and kind.kind != "registered"]
    sites, more = beside()
    return [*definitions, *sites, *more, BY_KIND["registered"].example, *rest]


async def test_every_example_of_a_kind_is_recorded_and_read_back(
    http: httpx.AsyncClient, administrator: dict[str, str]
) -> None:
    """The example of each kind, posted after what it names, is recorded and read back as it was sent."""
    posted = in_order()
    answered = await http.post("/v1/events", json=posted, headers=administrator)
    results = answered.json()["results"]

    assert [told["problem"] for told in results if told["status"] != 201] == []
    assert len(posted) == len(KINDS) + 4
    for sent in (kind.example for kind in KINDS):
        read = (await http.get(f"/v1/events/{sent['id']}", headers=administrator)).json()
        said = {name: value for name, value in read.items() if name not in ADDED_TO_ONE}
        assert decode(msgspec.json.encode(said)) == decode(msgspec.json.encode(sent))


@pytest.mark.parametrize("kind", [kind.__name__ for kind in KINDS])
def test_examples_of_kinds_show_every_field(kind: str) -> None:
    """The example of a kind has every field but the other way to say when, and fits its schema."""
    schema = document()["components"]["schemas"][kind]
    (example,) = schema["examples"]

    assert validator(f"#/components/schemas/{kind}").is_valid(example)
    assert set(schema["properties"]) - set(example) <= {"occurred_on"}


def test_examples_of_answers_fit_their_schemas() -> None:
    """Whatever example a schema has is one of its own."""
    wrong = [
        (name, error.message)
        for name, schema in document()["components"]["schemas"].items()
        for example in schema.get("examples", ())
        for error in validator(f"#/components/schemas/{name}").iter_errors(example)
    ]

    assert wrong == []


def test_every_answer_that_is_one_object_has_an_example() -> None:
    """Answers of the main doors are shown, not only told."""
    shapes = {shape for told in SHOWS.values() for shape in (told.values() if isinstance(told, dict) else (told,))}
    structs = {shape.__name__ for shape in shapes if isinstance(shape, type) and issubclass(shape, msgspec.Struct)}
    schemas = document()["components"]["schemas"]

    assert sorted(name for name in structs & schemas.keys() if "examples" not in schemas[name]) == [
        "Feed",
        "History",
        "ProblemPage",
        "ProblemPages",
        "RejectedList",
    ]


def test_every_problem_has_an_example() -> None:
    """Each code is shown as it is answered, with its own status and title."""
    assert sorted(EXAMPLES) == sorted(ROWS)
    for code, example in EXAMPLES.items():
        assert (example["type"], example["status"]) == (f"/problems/{code}", ROWS[code].status)
        assert validator("#/components/schemas/Problem").is_valid(msgspec.to_builtins(example))
