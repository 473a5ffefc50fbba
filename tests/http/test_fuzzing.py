"""The interface fuzzed by its own description, over a real database.

Every operation is asked with what its description allows and with what it forbids, derandomized: the same requests each
time. `FUZZ_CASES` says how many requests in all, 3,000 if it says nothing; many more are for a night.
"""

import asyncio
import json
import os
from collections import Counter
from collections.abc import Iterator, MutableMapping
from http import HTTPStatus
from typing import Any, NamedTuple

import pytest
import requests
import schemathesis
import structlog
from schemathesis import GenerationMode
from schemathesis.checks import load_all_checks, not_a_server_error
from schemathesis.core.parameters import ParameterLocation
from schemathesis.python import asgi
from schemathesis.specs.openapi import checks

from service.app import Wiring, create_app
from service.http.negotiation import NDJSON
from service.http.openapi import described
from service.settings import Settings
from tests.databases.clone import Database, Template, cloned
from tests.http.conftest import made_firms
from tests.http.firm import WEBHOOK_KEY, nowhere, serving, the_firm
from tests.http.fuzzing import KNOWN_PARTS, impatient, run, systematic
from tests.http.recall_firm import opened
from tests.http.streaming import hanging_up

pytestmark = pytest.mark.no_cover
"""Thousands of cases go the same ways again and again: counting each line of them is most of their time."""

CASES = int(os.environ.get("FUZZ_CASES", "3000"))
CHECKS = [
    not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
    checks.negative_data_rejection,
    checks.ignored_auth,
    checks.unsupported_method,
    checks.allow_header_conformance,
]
LENIENT = [check for check in CHECKS if check is not checks.negative_data_rejection]
POOL = 2
"""As many connections as a pool begins with: one that grows draws numbers that hypothesis takes for those of a case."""
STRAY = "x-schemathesis-unknown-property"
"""A header that no description knows is no fault: servers pass over it (RFC 9110 section 5.1)."""
DOCUMENT = described()
LABELS = sorted(f"{method.upper()} {path}" for path, methods in DOCUMENT["paths"].items() for method in methods)
#: Operations that take more than others, and so are asked more often.
WEIGHTS = {"POST /v1/events": 8} | {label: 3 for label in LABELS if label.startswith("PUT ")}
#: Operations that take nothing: there is no more to ask them than a handful.
BARE = {"GET /health/live", "GET /health/ready", "GET /problems"}
#: Nothing is asked twice, and of some operations there is less to ask than their share.
SPARE = 1.15
asked: Counter[str] = Counter()


class Fuzzed(NamedTuple):
    """The service, described, with a client and the headers of an administrator."""

    schema: Any
    client: requests.Session
    headers: dict[str, str]


async def prepared(clone: Database) -> dict[str, str]:
    """Make two firms, and give one of them what can be asked about; give an administrator's headers."""
    async with made_firms(clone.owner_url) as keys, serving(clone.app_url) as http:
        headers = await keys.make("administrator")
        await http.post("/v1/events", json=[*the_firm(), opened({"hours": 2})], headers=headers)
        wish = {"id": KNOWN_PARTS["webhook_id"], "url": "https://erp.example.com/", "state": "paused"}
        await http.post("/v1/webhooks", json=wish, headers=headers)
    return headers


@pytest.fixture(scope="module")
def fuzzed(template: Template) -> Iterator[Fuzzed]:
    """Give the whole service on a database of its own; in the end so many requests must have been made."""
    load_all_checks()
    with cloned(template) as clone:
        headers = asyncio.run(prepared(clone))
        settings = Settings(database_url=clone.app_url, pool_size=POOL, requests_a_minute=0, webhook_key=WEBHOOK_KEY)
        app: Any = create_app(Wiring(settings, resolve=nowhere))
        app.asgi_handler = hanging_up(app.asgi_handler)
        schema = schemathesis.openapi.from_dict(DOCUMENT)
        schema.app = app
        with asgi.get_client(app, max_stream_events=1) as client:
            yield Fuzzed(schema, client, headers)
        asgi.shutdown_lifespans()
    if len(asked) == len(LABELS):
        assert asked.total() >= CASES


@pytest.fixture(autouse=True)
def lines() -> Iterator[list[MutableMapping[str, Any]]]:
    """Give what is logged meanwhile."""
    with structlog.testing.capture_logs() as logged:
        yield logged


@pytest.mark.parametrize("label", LABELS)
def test_operation_is_as_described(fuzzed: Fuzzed, lines: list[MutableMapping[str, Any]], label: str) -> None:
    """Whatever is asked, allowed or not, is answered as the description says, and never by an unexpected error."""
    operation = fuzzed.schema.find_operation_by_label(label)

    def ask(case: Any) -> None:
        asked[label] += 1
        impatient(case)
        answered = case.call(session=fuzzed.client, headers=fuzzed.headers)
        if answered.status_code == HTTPStatus.MULTI_STATUS:
            refused_one_by_one(case, answered.json()["results"])
            case.validate_response(answered, checks=LENIENT, headers=fuzzed.headers)
        elif answered.headers.get("content-type") == [NDJSON]:
            refused_one_by_one(case, [json.loads(line) for line in answered.content.splitlines()[:-1]])
            case.validate_response(answered, checks=LENIENT, headers=fuzzed.headers)
        else:
            made = LENIENT if STRAY in case.headers else CHECKS
            case.validate_response(answered, checks=made, headers=fuzzed.headers)

    for case in systematic(fuzzed.schema, operation, share(label) * 9 // 10):
        ask(case)
    for mode in GenerationMode:
        if label not in BARE:
            run(operation, mode, (share(label) - asked[label]) // 2 + 1, ask)
    assert [line for line in lines if line["log_level"] in {"error", "critical"}] == []


def refused_one_by_one(case: Any, results: list[dict[str, Any]]) -> None:
    """Demand of a batch that is not as described that something in it was refused: each event is answered by itself.

    What is not as described may be a header that is sent as the client has it, with a batch that is right, or empty.
    """
    body = case.meta.components.get(ParameterLocation.BODY)
    if body is not None and body.mode is GenerationMode.NEGATIVE:
        assert [result for result in results if result["status"] >= HTTPStatus.BAD_REQUEST]


def share(label: str) -> int:
    """Give how many requests an operation gets."""
    weights = {one: WEIGHTS.get(one, 1) for one in LABELS if one not in BARE}
    return int(SPARE * CASES) * weights.get(label, 1) // sum(weights.values()) + 1
