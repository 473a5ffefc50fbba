"""What a request says beside its body: the parts of its address, its query, its headers."""

import re
from collections.abc import Iterator
from typing import Any, Final

import msgspec
from litestar.handlers import HTTPRouteHandler
from msgspec.structs import fields

from service.domain.words import REF_PATTERN
from service.http.describing.plain_schemas import plain
from service.http.path import MOST_SEQ
from service.http.position import DEMAND, is_reading

Json = dict[str, Any]

REFERENCE: Final = {"type": "string", "pattern": REF_PATTERN}
IDENTIFIER: Final = {"type": "string", "format": "uuid"}

PLACE: Final = {"type": "integer", "minimum": 1, "maximum": MOST_SEQ}

#: Every part of an address that names something: its description, its schema and an example.
PARTS: Final[dict[str, tuple[str, Json, str | int]]] = {
    "tag": ("The unit's tag; one that it had before finds it too.", REFERENCE, "FX-0142"),
    "event_id": ("The event's id.", IDENTIFIER, "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"),
    "rejected_id": ("The rejected message's id.", IDENTIFIER, "0198c1f2-9000-7000-8000-0000000000e1"),
    "webhook_id": ("The webhook's id.", IDENTIFIER, "0198c1f2-b000-7000-8000-0000000000d1"),
    "seq": ("The event's place in the log.", PLACE, 48211),
    "ref": ("Its reference.", REFERENCE, "harrow-dock"),
    "report": ("The report, by its name.", REFERENCE, "used-without-check"),
    "code": ("The name of the type of problem.", REFERENCE, "not-found"),
}
LARGEST: Final = 10**18 - 1
"""Numbers in a query have 18 digits at most."""
NAMED: Final = re.compile(r"\{(\w+)\}")


def parameters(path: str, route: HTTPRouteHandler) -> list[Json]:
    """Describe all that can be said to a route beside a body."""
    return [*of_path(path), *of_query(route), *route.opt.get("heads", ()), *of_position(route)]


def of_position(route: HTTPRouteHandler) -> Iterator[Json]:
    """Describe the position that every reading with a key may demand."""
    if is_reading(route) and route.opt["may"] is not None:
        yield DEMAND


def of_path(path: str) -> Iterator[Json]:
    """Describe the parts of an address."""
    for name in NAMED.findall(path):
        description, schema, example = PARTS.get(name, ("Its name.", REFERENCE, "a-name"))
        named = {"name": name, "in": "path", "required": True, "description": description}
        yield {**named, "schema": plain(schema), "example": example}


def of_query(route: HTTPRouteHandler) -> Iterator[Json]:
    """Describe the parameters of a route's question."""
    if "asks" not in route.opt:
        return
    asks = route.opt["asks"]
    (reference,), found = msgspec.json.schema_components([asks], ref_template="{name}")
    schema = found[reference["$ref"]]
    for field in fields(asks):
        told = without_null(plain(schema["properties"][field.encode_name]))
        if told.get("type") == "integer":
            told.setdefault("maximum", LARGEST)
        description = told.pop("description")
        named = {"name": field.encode_name, "in": "query", "required": field.required}
        yield {**named, "description": description, "schema": told}


def without_null(schema: Json) -> Json:
    """Describe a parameter that may be left out, which in an address is not the same as null."""
    told = {key: value for key, value in schema.items() if (key, value) != ("default", None)}
    some = [choice for choice in told.pop("anyOf", []) if choice != {"type": "null"}]
    told = (some[0] if len(some) == 1 else {"anyOf": some} if some else {}) | told
    if "enum" in told:
        told["enum"] = [word for word in told["enum"] if word is not None]
    return told
