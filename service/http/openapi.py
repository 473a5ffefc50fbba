"""The description of this interface (OpenAPI 3.1): what litestar says of the routes, and what they say themselves.

Overlaid because litestar's own schemas of tagged unions have no discriminator, drop descriptions and say nothing of
unknown fields; msgspec's have all three. Parameters are those of a route's question, problems those it can answer with.
"""

import json
from collections.abc import Iterator
from http import HTTPStatus
from typing import Any

import msgspec
from litestar import Litestar
from litestar.handlers import HTTPRouteHandler
from litestar.openapi import OpenAPIConfig
from litestar.openapi.spec import Components, SecurityScheme
from msgspec.structs import fields

from service.domain.kinds import KINDS, AnyEvent
from service.http.openapi_problems import problem_responses
from service.http.routes import ROUTES

REF = "#/components/schemas/{name}"
KEY = "key"

Json = dict[str, Any]


def document() -> bytes:
    """Write the whole description, the same bytes every time."""
    app = Litestar(route_handlers=ROUTES, openapi_config=config(), logging_config=None)
    told: Json = app.openapi_schema.to_schema()
    told["components"]["schemas"] = components()
    for path, method, route in operations(app):
        overlay(told["paths"][path][method], route)
    return json.dumps(told, indent=2, ensure_ascii=False).encode() + b"\n"


def config() -> OpenAPIConfig:
    """Say what the interface is for."""
    return OpenAPIConfig(
        title="Respirator ledger",
        version="1",
        description="Keeps the records of a firm's respirators from posted events. It does not make a unit safe: the "
        "maker's instructions, local law and a competent person decide.",
        components=Components(security_schemes={KEY: SecurityScheme(type="http", scheme="bearer")}),
        use_handler_docstrings=True,
        operation_id_creator=lambda route, *_: route.fn.__name__,
    )


def operations(app: Litestar) -> Iterator[tuple[str, str, HTTPRouteHandler]]:
    """Find each described operation: its path, its method and its route."""
    for route in app.routes:
        for handler in getattr(route, "route_handlers", ()):
            if isinstance(handler, HTTPRouteHandler) and handler.resolve_include_in_schema() and "may" in handler.opt:
                for method in handler.http_methods:
                    yield route.path_format, method.lower(), handler


def components() -> Json:
    """Give the schemas: every kind of event, and a problem."""
    (event,), kinds = msgspec.json.schema_components([AnyEvent], ref_template=REF)
    for kind in KINDS:
        kinds[kind.__name__]["examples"] = [kind.example]
    return {"Event": event, **kinds, "Problem": PROBLEM}


def overlay(operation: Json, route: HTTPRouteHandler) -> None:
    """Add to an operation what its route says of itself."""
    told = [*operation.get("parameters", []), *parameters(route), *route.opt.get("heads", ())]
    if told:
        operation["parameters"] = told
    if "takes" in route.opt:
        operation["requestBody"] = {"required": True, "content": {"application/json": {"schema": route.opt["takes"]}}}
    operation["security"] = [] if route.opt["may"] is None else [{KEY: []}]
    operation["responses"] = successes(route) | problem_responses(route)


def parameters(route: HTTPRouteHandler) -> Iterator[Json]:
    """Describe the parameters of a route's question."""
    if "asks" not in route.opt:
        return
    asks = route.opt["asks"]
    (reference,), found = msgspec.json.schema_components([asks], ref_template=REF)
    schema = found[reference["$ref"].rpartition("/")[2]]
    for field in fields(asks):
        told = without_null(schema["properties"][field.encode_name])
        description = told.pop("description")
        yield {
            "name": field.encode_name,
            "in": "query",
            "required": field.required,
            "description": description,
            "schema": told,
        }


def without_null(schema: Json) -> Json:
    """Describe a parameter that may be left out, which in an address is not the same as null."""
    told = {key: value for key, value in schema.items() if (key, value) != ("default", None)}
    some = [choice for choice in told.pop("anyOf", []) if choice != {"type": "null"}]
    told = (some[0] if len(some) == 1 else {"anyOf": some} if some else {}) | told
    if "enum" in told:
        told["enum"] = [word for word in told["enum"] if word is not None]
    return told


def successes(route: HTTPRouteHandler) -> Json:
    """Describe the answers of a route when all goes well."""
    gives = route.opt.get("gives", {200: "The answer."})
    body = {"content": {"application/json": {"schema": {"type": "object"}}}}
    return {
        str(status): {"description": text} | (body if status != HTTPStatus.NOT_MODIFIED else {})
        for status, text in gives.items()
    }


PROBLEM: Json = {
    "type": "object",
    "description": "A problem (RFC 9457); members beyond these depend on its type.",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["detail"],
                "properties": {
                    "detail": {"type": "string"},
                    "pointer": {"type": "string", "description": "JSON pointer as a URI fragment (RFC 6901)."},
                    "parameter": {"type": "string", "description": "Query parameter or header."},
                },
            },
        },
        "rejected": {"type": "string", "format": "uuid", "description": "The rejected message it is kept as."},
    },
}
