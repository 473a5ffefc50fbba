"""What the description says of every field."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from service.http.describing.answer_fields import ANSWER_FIELDS
from service.http.describing.event_fields import EVENT_FIELDS
from service.http.describing.order_document_fields import ORDER_DOCUMENT_FIELDS
from service.http.describing.recall_fields import RECALL_FIELDS
from service.http.describing.reference_fields import REFERENCE_FIELDS
from service.http.describing.stock_fields import STOCK_FIELDS
from service.http.describing.webhook_fields import WEBHOOK_FIELDS
from service.http.openapi import described

Json = dict[str, Any]

TABLES = {
    "fields of events": EVENT_FIELDS | REFERENCE_FIELDS,
    "members of answers": ANSWER_FIELDS | ORDER_DOCUMENT_FIELDS | RECALL_FIELDS | STOCK_FIELDS | WEBHOOK_FIELDS,
}


@pytest.fixture(scope="module")
def told() -> Json:
    """Give the description."""
    return described()


def objects(value: object, where: str = "") -> Iterator[tuple[str, Json]]:
    """Find every schema that has properties, wherever it stands."""
    if isinstance(value, dict):
        if isinstance(value.get("properties"), dict):
            yield where, value["properties"]
        for name, inner in value.items():
            if name not in {"examples", "example", "default"}:
                yield from objects(inner, f"{where}/{name}")
    if isinstance(value, list):
        for place, inner in enumerate(value):
            yield from objects(inner, f"{where}/{place}")


def test_every_property_says_what_it_means(told: Json) -> None:
    """No property of anything sent or answered goes without a sentence."""
    silent = [
        f"{where}: {name}" for where, found in objects(told) for name, schema in found.items() if not says(schema)
    ]

    assert silent == []


def says(schema: Json) -> bool:
    """Say whether a schema has a sentence of its own."""
    return str(schema.get("description", "")).endswith(".")


def test_no_property_speaks_of_what_readers_do_not_have(told: Json) -> None:
    """Sentences name no page and no ruling by its number."""
    sentences = [schema["description"] for schema in told["components"]["schemas"].values() if "description" in schema]

    assert [sentence for sentence in sentences if re.search(r"\((?:design|R) ?[0-9]", sentence)] == []


@pytest.mark.parametrize("table", TABLES)
def test_every_sentence_is_about_a_property(told: Json, table: str) -> None:
    """A sentence that no property uses speaks of something that there is no more."""
    used = {
        schema.get("description")
        for found in told["components"]["schemas"].values()
        for schema in found.get("properties", {}).values()
    }

    assert [name for name, sentence in TABLES[table].items() if sentence not in used] == []


@pytest.mark.parametrize(
    ("schema", "field", "unit"),
    [
        ("Checked", "airflow_lpm", "litres per minute"),
        ("Checked", "battery_percent", "percent"),
        ("Examined", "cylinder_bar", "bar"),
        ("BatteryLimits", "capacity_wh", "watt-hours"),
        ("ModelDefined", "service_life_months", "months"),
        ("RunTime", "minutes", "minutes"),
        ("ItemDefined", "lead_time_days", "days"),
        ("ItemDefined", "after_opening_days", "days"),
        ("ServiceLimit", "hours", "hours"),
        ("TaskDefined", "hours", "hours"),
        ("Problem", "retry_after", "seconds"),
    ],
)
def test_quantities_have_their_units(told: Json, schema: str, field: str, unit: str) -> None:
    """The sentence of a quantity names its unit."""
    assert unit in told["components"]["schemas"][schema]["properties"][field]["description"]


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ("serials", "no part is found by them"),
        ("serial_from", "either way round"),
        ("lot_from", "days in the wrong order are refused"),
        ("made_from", "of parts it leaves out nothing"),
        ("received_from", "Of parts it leaves out nothing"),
    ],
)
def test_a_criterion_says_what_it_does_not_find(told: Json, field: str, said: str) -> None:
    """Whoever copies a maker's notice reads what a value leaves out, and what it cannot."""
    assert said in told["components"]["schemas"]["Criterion"]["properties"][field]["description"]


def test_fields_that_end_in_a_unit_name_it(told: Json) -> None:
    """No field whose name ends in a unit leaves it to its name alone."""
    units = {
        "_lpm": "litres per minute",
        "_percent": "percent",
        "_bar": "bar",
        "_wh": "watt-hours",
        "_months": "months",
        "_days": "days",
    }
    unsaid = [
        (where, name)
        for where, found in objects(told)
        for name, schema in found.items()
        for ending, unit in units.items()
        if name.endswith(ending) and name != "unit_days" and unit not in schema.get("description", "")
    ]

    assert unsaid == []


def test_answers_may_grow_and_requests_may_not(told: Json) -> None:
    """What is sent is read strictly; no answer promises that it will never have another member."""
    schemas = told["components"]["schemas"]
    strict = {name for name, schema in schemas.items() if schema.get("additionalProperties") is False}

    assert {"Checked", "SiteDefined", "SiteDefinedBody", "Part"} <= strict
    assert not {"AssetView", "Summary", "EventReceipt", "RecordedChecked", "Problem"} & strict
