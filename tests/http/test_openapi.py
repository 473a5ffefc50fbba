"""The description of the interface."""

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest
from litestar import Litestar
from openapi_spec_validator import OpenAPIV31SpecValidator, validate

from service.domain.codec import decode
from service.domain.kinds import KINDS
from service.http.openapi import document, operations
from service.http.routes import ROUTES
from service.problems import ROWS

FILE = Path(__file__).parents[2] / "openapi" / "openapi.json"


@pytest.fixture(scope="module")
def told() -> Any:
    """Give the description, parsed."""
    return json.loads(document())


def test_the_file_says_what_the_routes_say() -> None:
    """The committed file is what the routes give: `respirators openapi --write openapi/openapi.json` renews it."""
    assert FILE.read_bytes() == document()


def test_every_route_says_whom_it_answers() -> None:
    """Every address names its roles or that it answers anyone, so that none is open or closed by being forgotten."""
    app = Litestar(route_handlers=ROUTES, openapi_config=None, logging_config=None)
    silent = [
        route.path
        for route in app.routes
        for handler in getattr(route, "route_handlers", ())
        if "may" not in handler.opt and handler.http_methods != {"OPTIONS"}
    ]

    assert silent == []


def test_the_first_doors_are_described(told: Any) -> None:
    """The description has these addresses and methods and no others."""
    described = {path: sorted(methods) for path, methods in told["paths"].items()}

    assert described == {
        "/health/live": ["get"],
        "/health/ready": ["get"],
        "/problems": ["get"],
        "/problems/{code}": ["get"],
        "/v1/assets": ["get"],
        "/v1/assets/{tag}": ["get"],
        "/v1/assets/{tag}/history": ["get"],
        "/v1/assets/{tag}/label": ["get"],
        "/v1/assets/{tag}/standing": ["get"],
        "/v1/compliance": ["get"],
        "/v1/compliance/assets": ["get"],
        "/v1/consumption": ["get"],
        "/v1/devices": ["get"],
        "/v1/events": ["get", "post"],
        "/v1/events/stream": ["get"],
        "/v1/events/{event_id}": ["get"],
        "/v1/exceptions": ["get"],
        "/v1/exceptions/{report}": ["get"],
        "/v1/instruments": ["get"],
        "/v1/instruments/{ref}": ["get", "put"],
        "/v1/items": ["get"],
        "/v1/items/{ref}": ["get", "put"],
        "/v1/labels": ["get"],
        "/v1/models": ["get"],
        "/v1/models/{ref}": ["get", "put"],
        "/v1/order-documents": ["post"],
        "/v1/policies": ["get"],
        "/v1/policies/{ref}": ["get", "put"],
        "/v1/recalls/{ref}/quarantine": ["post"],
        "/v1/recalls": ["get"],
        "/v1/recalls/preview": ["post"],
        "/v1/recalls/{ref}/impact": ["get"],
        "/v1/recalls/{ref}/notice": ["get"],
        "/v1/recalls/{ref}/sites": ["get"],
        "/v1/recalls/{ref}/people": ["get"],
        "/v1/recalls/{ref}/stock": ["get"],
        "/v1/recalls/{ref}/history": ["get"],
        "/v1/rejected": ["get"],
        "/v1/rejected/{rejected_id}": ["get"],
        "/v1/rejected/{rejected_id}/dismissal": ["post"],
        "/v1/rejected/{rejected_id}/retry": ["post"],
        "/v1/reorders": ["get"],
        "/v1/reorders/{ref}": ["get"],
        "/v1/reorders/{ref}/approval": ["post"],
        "/v1/reorders/{ref}/cancellation": ["post"],
        "/v1/reorders/{ref}/placement": ["post"],
        "/v1/reorders/{ref}/receipt": ["get"],
        "/v1/scans/interpretation": ["post"],
        "/v1/sites": ["get"],
        "/v1/sites/{ref}": ["get", "put"],
        "/v1/stock": ["get"],
        "/v1/stock/ledger": ["get"],
        "/v1/tasks": ["get"],
        "/v1/tasks/{ref}": ["get", "put"],
        "/v1/webhooks": ["get", "post"],
        "/v1/webhooks/{webhook_id}": ["delete", "get", "put"],
        "/v1/webhooks/{webhook_id}/dead-letters": ["get"],
        "/v1/webhooks/{webhook_id}/dead-letters/{seq}/replay": ["post"],
        "/v1/webhooks/{webhook_id}/deliveries": ["get"],
        "/v1/webhooks/{webhook_id}/secret": ["post"],
        "/v1/webhooks/{webhook_id}/test": ["post"],
    }


def test_every_kind_is_described_with_an_example_that_decodes(told: Any) -> None:
    """Each kind stands under its name in the discriminator, refuses unknown fields and has an example to post."""
    schemas = told["components"]["schemas"]
    mapping = schemas["Event"]["discriminator"]["mapping"]

    assert sorted(mapping) == sorted(kind.kind for kind in KINDS)
    for name, reference in mapping.items():
        schema = schemas[reference.removeprefix("#/components/schemas/")]
        assert schema["additionalProperties"] is False
        assert [decode(msgspec.json.encode(example)).kind for example in schema["examples"]] == [name]


def test_every_parameter_says_what_it_means(told: Any) -> None:
    """Each parameter of each operation has a description and a schema that allows no null."""
    for path, methods in told["paths"].items():
        for operation in methods.values():
            for parameter in operation.get("parameters", []):
                if parameter["in"] == "query":
                    assert parameter["description"], (path, parameter["name"])
                    assert '"null"' not in json.dumps(parameter["schema"])


def test_keys_are_asked_for_where_they_are_needed(told: Any) -> None:
    """Every address but health and problems asks for a key, describes its refusal and says whom it answers."""
    for path, methods in told["paths"].items():
        for operation in methods.values():
            is_open = path.startswith(("/health/", "/problems"))
            assert operation["security"] == ([] if is_open else [{"key": []}])
            assert ("401" in operation["responses"]) is not is_open
            assert ("x-roles" in operation) is not is_open
            assert "Answers keys of" in operation["description"] or is_open
    feed = told["paths"]["/v1/events"]["get"]
    assert feed["x-roles"] == ["administrator", "auditor", "integrator", "manager", "site-app", "site-lead"]
    assert feed["description"].endswith(
        "\n\nAnswers keys of the roles administrator, auditor, integrator, manager, site-app, site-lead."
    )


def test_every_operation_describes_its_problems(told: Any) -> None:
    """Whatever can be refused at posting is described there, each problem by the code it is answered with."""
    responses = told["paths"]["/v1/events"]["post"]["responses"]

    assert sorted(responses) == [
        *("200", "201", "207"),
        *("400", "401", "403", "406", "409", "413", "415", "422", "429", "500", "503"),
    ]
    assert sorted(responses["409"]["content"]["application/problem+json"]["examples"]) == [
        *("content-clash", "contradicts-history", "tag-taken"),
    ]
    assert responses["409"]["description"] == (
        "The id is taken by other content (`/problems/content-clash`); "
        "The event contradicts the history (`/problems/contradicts-history`); "
        "The tag is in use by another unit (`/problems/tag-taken`)"
    )
    everything = json.dumps(told["paths"])
    unseen = [code for code in ROWS if f"/problems/{code}`" not in everything]
    assert unseen == ["method-not-allowed", "bad-request"]


def test_description_is_valid(told: Any) -> None:
    """The description is an OpenAPI 3.1 document, by the judgement of openapi-spec-validator."""
    validate(told, cls=OpenAPIV31SpecValidator)


def test_chapters_are_those_of_the_operations(told: Any) -> None:
    """Every operation stands in a chapter that is described, and every chapter has an operation."""
    named = {tag for methods in told["paths"].values() for operation in methods.values() for tag in operation["tags"]}

    assert sorted(named) == [tag["name"] for tag in told["tags"]]
    assert all(tag["description"] for tag in told["tags"])


def test_description_carries_the_caution(told: Any) -> None:
    """Whoever reads the description reads what the service does not do."""
    assert "it does not make a unit safe" in " ".join(told["info"]["description"].split())


def test_operations_have_names_of_their_own(told: Any) -> None:
    """No two operations share an id, so that clients can be made from it."""
    names = [operation["operationId"] for methods in told["paths"].values() for operation in methods.values()]

    assert len(names) == len(set(names)) == len(list(operations(Litestar(route_handlers=ROUTES, logging_config=None))))
