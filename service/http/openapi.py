"""The description of this interface (OpenAPI 3.1), told by the routes themselves.

A route says whom it answers (`may`), what is asked (`asks`, `heads`), what is sent (`takes`, `reads`), and its answer
(`gives`, `shows`, `offers`); which problems and headers its answers have follows from that. Schemas are those of the
structs that messages are read into, with a sentence for every field.
"""

import json
from collections.abc import Iterator
from typing import Any, Final

from litestar import Litestar
from litestar.handlers import HTTPRouteHandler

from service.http.describing import headers, outgoing, problem_examples, schemas
from service.http.describing.operations import KEY, every_shape, operation
from service.http.describing.tags import tags
from service.http.routes import ROUTES

Json = dict[str, Any]

VERSION: Final = "1"
ABOUT: Final = """\
Keeps the records of a firm's respirators from posted events, and answers which units may be used, on every site, at any
moment.

**Caution.** This is about safety equipment. The service keeps records and reminds; it does not make a unit safe. A
unit that fails a check is not used. An alarm in use means leave the area. The maker's instructions, local law and a
competent person decide. Medical data stays out.

**For readers.** Fields may be added to any answer, and words to any list of words in an answer: read on over what you
do not know, and take an unknown standing for one that forbids use. No field is ever renamed or taken away within this
version. What you send is read strictly: unknown fields and parameters are refused.

**Everywhere.** `HEAD` is answered where `GET` is. A request may name itself with `X-Request-Id`, a UUID, and its trace
with `traceparent`; both are answered. Moments are UTC unless they have an offset. Problems are RFC 9457, and the
address in `type` explains each.

**Without names.** A key of role `worker-representative` reads `withheld` in the place of every person, and free text as
if it was erased."""


def document() -> bytes:
    """Write the whole description, the same bytes every time."""
    return json.dumps(described(), indent=1, ensure_ascii=False).encode() + b"\n"


def described() -> Json:
    """Give the whole description."""
    found = sorted(operations(Litestar(route_handlers=ROUTES, openapi_config=None, logging_config=None)))
    paths: dict[str, Json] = {}
    for path, method, route in found:
        paths.setdefault(path, {})[method] = operation(path, route)
    pointing = json.dumps(paths)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Respirator ledger", "version": VERSION, "description": ABOUT},
        "servers": [SERVER],
        "tags": tags(),
        "paths": paths,
        "webhooks": outgoing.WEBHOOKS,
        "components": {
            "schemas": schemas.components(shape for _, _, route in found for shape in every_shape(route))
            | outgoing.SCHEMAS,
            "headers": headers.components(pointing),
            "examples": problem_examples.components(pointing),
            "securitySchemes": {KEY: SECURITY},
        },
    }


SERVER: Final = {
    "url": "/",
    "description": "Where this description was read: local, staging or production.",
    "x-internal": False,
}
SECURITY: Final = {
    "type": "http",
    "scheme": "bearer",
    "description": "A key of one organisation, bound to a role, to sites and to a day on which it ends. The command "
    "`respirators key create` makes it and shows it once.",
}


def operations(app: Litestar) -> Iterator[tuple[str, str, HTTPRouteHandler]]:
    """Find each described operation: its path, its method and its route."""
    for route in app.routes:
        for handler in getattr(route, "route_handlers", ()):
            if isinstance(handler, HTTPRouteHandler) and handler.resolve_include_in_schema() and "may" in handler.opt:
                for method in handler.http_methods:
                    yield route.path_format, method.lower(), handler
