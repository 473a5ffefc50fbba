"""One operation: what a route says of itself, and what follows from it."""

import re
from http import HTTPStatus
from inspect import cleandoc
from typing import Any, Final

import msgspec
from litestar.handlers import HTTPRouteHandler

from service.http.answers import JSON
from service.http.describing.headers import headers_of
from service.http.describing.parameters import parameters
from service.http.describing.problems import problem_responses
from service.http.describing.schemas import name_of, refer
from service.http.describing.tags import tag_of
from service.http.limits import MAX_BYTES
from service.http.negotiation import EVENT_STREAM, JSON_LD, NDJSON
from service.http.roles import EVERY_ROLE
from service.http.shapes.epcis import EpcisDocument
from service.http.shapes.events import Shape
from service.http.shapes.receipts import EventReceipt, LineResult, StreamEnd
from service.http.shapes.table import SHOWS
from service.http.shapes.words import Count, KindName, Next

Json = dict[str, Any]

KEY: Final = "key"
LARGE: Final = 2**31 - 1
FIRST_PART: Final = re.compile(r"[^,.:;]+")
CODED: Final = "The body may be coded: `Content-Encoding: gzip` or `zstd`."
SAID: Final = "Lines, each one event of at most 64 KiB; empty ones are passed over."
ANSWERED: Final = "Lines: a result for each line that was sent, and last their count."
EVENT: Final = refer("Event")
STREAMED: Final = (LineResult, StreamEnd)
ANSWER_LINE: Final = {"oneOf": [refer(name_of(shape)) for shape in STREAMED]}
UBL: Final = "A document of UBL 2.1 (ISO/IEC 19845:2015), valid under its schemas."
#: What is answered beside JSON, as it stands in the description.
FORMS: Final = {
    "application/xml": UBL,
    "image/svg+xml": "A drawing (SVG 1.1), to be printed at its own size.",
    "text/csv": "A table that spreadsheets open (RFC 4180): a header line, CRLF, UTF-8 with its mark.",
    "text/plain": "A table for the terminal.",
    "text/html": "A page for people.",
}
#: What is read beside JSON.
READ: Final = {
    **dict.fromkeys(
        ("application/xml", "text/xml"), "A document of UBL 2.0 to 2.4 in any prefixes, without a DOCTYPE."
    ),
    "text/csv": "A table (RFC 4180, UTF-8): the names of the columns, and below them a row for each line.",
}
SENT: Final[Json] = {
    "type": "object",
    "description": "One server-sent event (WHATWG HTML, section 9.2).",
    "properties": {
        "id": {
            "description": "Where to go on: send it as `Last-Event-ID`. Alone it moves the cursor and is no event.",
            **msgspec.json.schema(Next),
        },
        "event": {"description": "The kind of the event.", **msgspec.json.schema(KindName)},
        "data": {
            "description": "The event, as in the feed.",
            "type": "string",
            "maxLength": LARGE,
            "contentMediaType": JSON,
            "contentSchema": refer("RecordedEvent"),
        },
        "retry": {
            "description": "After how many milliseconds a broken connection is made anew.",
            **msgspec.json.schema(Count),
            "format": "int64",
        },
    },
    "required": ["id"],
}


def operation(path: str, route: HTTPRouteHandler) -> Json:
    """Describe an operation."""
    said = cleandoc(route.fn.__doc__ or "")
    first = FIRST_PART.match(said)
    told: Json = {
        "operationId": id_of(route),
        "summary": route.summary or (first[0] if first else ""),
        "description": f"{said}\n\n{audience(route)}",
        "tags": [tag_of(path)],
    }
    if "ends" in route.opt:
        told["deprecated"] = True
    if found := parameters(path, route):
        told["parameters"] = found
    if {"takes", "documents"} & route.opt.keys():
        told["requestBody"] = body(route)
    return told | answered(route)


def id_of(route: HTTPRouteHandler) -> str:
    """Give the name of an operation."""
    return route.operation_id if isinstance(route.operation_id, str) else route.fn.__name__


def body(route: HTTPRouteHandler) -> Json:
    """Describe what is sent."""
    return {
        "description": f"{route.opt.get('said', 'What to record.')} {CODED}",
        "required": True,
        "content": documents_of(route) if "documents" in route.opt else taken(route),
    }


def taken(route: HTTPRouteHandler) -> Json:
    """Describe what is sent as JSON, and as lines of it."""
    return {JSON: {"schema": route.opt["takes"]}} | ({NDJSON: lines_of(EVENT, SAID)} if streams(route) else {})


def documents_of(route: HTTPRouteHandler) -> Json:
    """Describe the forms of documents that are read, each with its examples; what is in them no schema of JSON says."""
    schema = {"type": "string", "minLength": 1, "maxLength": MAX_BYTES}
    return {
        media: {"schema": schema | {"description": READ[media]}, "examples": examples}
        for media, examples in route.opt["documents"].items()
    }


def streams(route: HTTPRouteHandler) -> bool:
    """Say whether a route takes lines and answers them with lines."""
    return "streams" in route.opt


def lines_of(schema: Json, description: str) -> Json:
    """Describe a stream of lines: as the list of what they say, since version 3.1 has no other word for it."""
    return {"schema": {"type": "array", "maxItems": LARGE, "items": schema, "description": description}}


def audience(route: HTTPRouteHandler) -> str:
    """Say in words whom a route answers."""
    may = route.opt["may"]
    if may is None:
        return "Answers anyone, without a key."
    if may == EVERY_ROLE:
        return "Answers keys of every role."
    return f"Answers keys of the roles {', '.join(sorted(may))}."


def answered(route: HTTPRouteHandler) -> Json:
    """Describe whom a route answers, and how."""
    may = route.opt["may"]
    asked: Json = {"security": []} if may is None else {"security": [{KEY: []}], "x-roles": sorted(may)}
    return asked | {"responses": successes(route) | problem_responses(route)}


def shapes(route: HTTPRouteHandler) -> dict[int, Shape]:
    """Give the shape of each answer of a route that has a body when all goes well."""
    shows = SHOWS.get(id_of(route), {})
    if isinstance(shows, dict):
        return shows
    statuses = [status for status in route.opt.get("gives", {200: ""}) if status != HTTPStatus.NOT_MODIFIED]
    return dict.fromkeys(statuses, shows)


def every_shape(route: HTTPRouteHandler) -> list[Shape]:
    """Give the shapes of all that a route answers when all goes well, lines included."""
    handed_on = JSON_LD in route.opt.get("offers", ())
    return [*shapes(route).values(), *(STREAMED if streams(route) else ()), *([EpcisDocument] if handed_on else [])]


def successes(route: HTTPRouteHandler) -> Json:
    """Describe the answers of a route when all goes well."""
    shown = shapes(route)
    gives = route.opt.get("gives", {200: "The answer."})
    return {
        str(status): {"description": text, "headers": headers_of(route, status)}
        | ({"content": content(route, shown.get(status))} if status in shown or not tells_json(route) else {})
        for status, text in gives.items()
    }


def tells_json(route: HTTPRouteHandler) -> bool:
    """Say whether a route answers with data, and not with drawings and pages alone."""
    return bool({JSON, EVENT_STREAM} & set(route.opt.get("offers", (JSON,))))


def content(route: HTTPRouteHandler, shape: Shape | None) -> Json:
    """Describe an answer in each of its forms; what is only drawn has no shape."""
    offers = route.opt.get("offers", (JSON,))
    told: Json = {EVENT_STREAM: {"schema": SENT}}
    told |= {} if shape is None else {JSON: {"schema": refer(name_of(shape))}}
    told |= {JSON_LD: {"schema": refer(name_of(EpcisDocument))}}
    told |= {
        media: {"schema": {"type": "string", "maxLength": LARGE, "description": FORMS[media]}}
        for media in offers
        if media in FORMS
    }
    told = {media: told[media] for media in offers}
    return told | ({NDJSON: lines_of(ANSWER_LINE, ANSWERED)} if shape is EventReceipt and streams(route) else {})
