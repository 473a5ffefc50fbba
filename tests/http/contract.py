"""Answers held against the description of the interface: what it does not say is not answered.

Members are compared strictly here, although readers are told that some may be added: so none is added undescribed.
"""

import json
import re
from collections.abc import Mapping, Sequence
from copy import deepcopy
from functools import cache
from typing import Any, NamedTuple

import httpx
import jsonschema_rs

from service.http.negotiation import NDJSON
from service.http.openapi import described

Json = dict[str, Any]

#: What a test looks at as it is, and no JSON can be told to match.
WITHOUT_BODY = {204, 304}


class Described(NamedTuple):
    """An operation as it is described, and the addresses it is at."""

    address: re.Pattern[str]
    methods: Mapping[str, Json]


@cache
def document() -> Json:
    """Give the description, its objects closed."""
    told = deepcopy(described())
    for schema in told["components"]["schemas"].values():
        if "properties" in schema:
            schema.setdefault("additionalProperties", False)
    return told


@cache
def paths() -> tuple[Described, ...]:
    """List the addresses, those that name nothing first."""
    every = sorted(document()["paths"].items(), key=lambda pair: "{" in pair[0])
    return tuple(Described(re.compile(re.sub(r"\{\w+\}", "[^/]+", path)), methods) for path, methods in every)


@cache
def validator(reference: str) -> Any:
    """Give what compares a value with a schema."""
    return jsonschema_rs.validator_for(
        {"$ref": reference, "components": document()["components"]}, validate_formats=True
    )


def operation(request: httpx.Request) -> Json | None:
    """Find the operation that a request asks for; HEAD is asked as GET."""
    method = "get" if request.method == "HEAD" else request.method.lower()
    found = (one.methods.get(method) for one in paths() if one.address.fullmatch(request.url.path))
    return next(found, None)


async def hold_to_contract(answered: httpx.Response) -> None:
    """Compare an answer with what is said of it: its status, its headers, its form and every member."""
    told = operation(answered.request)
    if told is None:
        return
    await answered.aread()
    where = f"{told['operationId']} {answered.status_code}"
    response = told["responses"].get(str(answered.status_code))
    assert response is not None, f"{where} is not described: {answered.text}"
    hold_headers(where, response.get("headers", {}), answered.headers)
    if answered.status_code not in WITHOUT_BODY and answered.request.method != "HEAD":
        hold_body(where, response["content"], answered)


def hold_headers(where: str, headers: Mapping[str, Json], given: httpx.Headers) -> None:
    """Compare the headers of an answer with those described."""
    for name in headers:
        said = document()["components"]["headers"][name]
        assert name in given or not said["required"], f"{where} has no {name}"
        if name in given:
            assert re.search(said["schema"]["pattern"], given[name]), f"{where} has {name}: {given[name]}"


def hold_body(where: str, content: Mapping[str, Json], answered: httpx.Response) -> None:
    """Compare the body of an answer with the schema of its form."""
    media = answered.headers["content-type"].partition(";")[0]
    assert media in content, f"{where} is answered as {media}"
    if media == NDJSON:
        hold_lines(where, content[media]["schema"]["items"]["oneOf"], answered)
    elif media.endswith("json"):
        wrong = list(validator(content[media]["schema"]["$ref"]).iter_errors(answered.json()))
        assert not wrong, f"{where} at {list(wrong[0].instance_path)}: {wrong[0].message}"


def hold_lines(where: str, choices: Sequence[Json], answered: httpx.Response) -> None:
    """Compare the lines of an answer with the two schemas there are: of a result, and of the last line."""
    result, end = (validator(choice["$ref"]) for choice in choices)
    *results, last = [json.loads(line) for line in answered.text.splitlines()]
    wrong = [error for told in results for error in result.iter_errors(told)] + list(end.iter_errors(last))
    assert not wrong, f"{where} at {list(wrong[0].instance_path)}: {wrong[0].message}"
