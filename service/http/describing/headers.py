"""The headers of answers: what each says, and which answers have it."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any, Final, TypeAlias

from litestar.handlers import HTTPRouteHandler

from service.http.heads import IF_NONE_MATCH, PREFER
from service.http.negotiation import CSV, EVENT_STREAM
from service.http.paging import Listed

Json = dict[str, Any]
IsSo: TypeAlias = Callable[[HTTPRouteHandler, int], bool]


def text(description: str, pattern: str, example: str, *, always: bool = False) -> Json:
    """Describe a header; one that is not there `always` may be missing."""
    schema = {"type": "string", "pattern": pattern, "maxLength": 2000}
    return {"description": description, "required": always, "schema": schema, "example": example}


HEADERS: Final[dict[str, Json]] = {
    "X-Request-Id": text(
        "The name of the request, as sent or as given to it; the log has it too.",
        "^[A-Za-z0-9._-]{1,64}$",
        "0198c1f2-aa00-7000-8000-0000000000c1",
        always=True,
    ),
    "traceresponse": text(
        "The trace that the request belongs to, and this service's part of it (W3C Trace Context).",
        "^00-[0-9a-f]{32}-[0-9a-f]{16}-[0-9a-f]{2}$",
        "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-00",
        always=True,
    ),
    "Cache-Control": text("Who may keep the answer.", "^.+$", "private, no-cache", always=True),
    "Vary": text(
        "The headers of the request that the answer depends on.", "^.+$", "Accept, Authorization", always=True
    ),
    "X-Content-Type-Options": text("The answer is what its type says.", "^nosniff$", "nosniff", always=True),
    "RateLimit-Policy": text(
        "How many requests (q) the key has in how many seconds (w).", '^"key";q=[0-9]+;w=[0-9]+$', '"key";q=30000;w=60'
    ),
    "RateLimit": text(
        "How many requests are left (r), and in how many seconds all of them are there again (t).",
        '^"key";r=[0-9]+;t=[0-9]+$',
        '"key";r=29999;t=1',
    ),
    "ETag": text(
        "The version of the answer, to be sent as `If-Match` or `If-None-Match`.", '^(W/)?"[^"]*"$', '"48211"'
    ),
    "Location": text(
        "Where what was made is read.",
        "^/v1/(events|webhooks)/[0-9a-f-]{36}$",
        "/v1/events/0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
    ),
    "Content-Disposition": text(
        "The name of the file that a table is saved as.",
        '^inline; filename="[A-Za-z0-9._-]+"$',
        'inline; filename="assets.csv"',
    ),
    "Link": text(
        "Where the next page is, relative to this address.", '^<[^>]+>; rel="next"', '</v1/assets?after=x>; rel="next"'
    ),
    "WWW-Authenticate": text(
        "What sort of key is asked for, and what is wrong with the one sent.", "^Bearer", "Bearer"
    ),
    "Retry-After": text("The seconds to wait before the same request is sent again.", "^[0-9]+$", "1"),
    "Ledger-Position": text(
        "The position from which on all that was recorded here can be read: send it with what you ask next.",
        "^[0-9]+$",
        "48211",
    ),
    "Preference-Applied": text("The preferences that were heeded (RFC 7240 section 3).", "^.+$", "handling=strict"),
    "X-Accel-Buffering": text("Proxies that know it pass on what comes as it comes.", "^no$", "no", always=True),
    "Accept-Post": text("The media types that a body may have.", "^.+$", "application/json"),
    "Accept-Encoding": text("The content codings that a body may have.", "^.+$", "gzip, zstd, identity"),
    "Deprecation": text("Since when the address should not be built on (RFC 9745).", "^@[0-9]+$", "@1688169599"),
    "Sunset": text("From when on the address may be gone (RFC 8594).", "GMT$", "Sun, 31 Dec 2028 23:59:59 GMT"),
}


APPLIED: Final = frozenset({200, 201, 207, 403, 409, 422})
"""Where a preference can have been heeded: in what became of a message."""


def is_read(route: HTTPRouteHandler, status: int) -> bool:
    """Say whether an answer tells a version that may be known already."""
    return IF_NONE_MATCH in route.opt.get("heads", ()) and status in {200, 304, 412}


def writes(route: HTTPRouteHandler) -> bool:
    """Say whether something comes into the log by a route: what is sent, or what is made of it."""
    return bool({"records", "orders", "acts", "documents"} & route.opt.keys())


def posts(route: HTTPRouteHandler) -> bool:
    """Say whether a route records what becomes readable elsewhere; what is put is read where it was put."""
    return ("records" in route.opt and "POST" in route.http_methods) or "acts" in route.opt


#: Which answers have which headers, of a route and a status.
WHERE: Final[tuple[tuple[IsSo, tuple[str, ...]], ...]] = (
    (
        lambda _route, _status: True,
        ("X-Request-Id", "traceresponse", "Cache-Control", "Vary", "X-Content-Type-Options"),
    ),
    (lambda route, _status: route.opt["may"] is not None, ("RateLimit-Policy", "RateLimit")),
    (is_read, ("ETag",)),
    (lambda route, status: "PUT" in route.http_methods and status in {200, 201, 412, 428}, ("ETag",)),
    (lambda route, status: posts(route) and status == HTTPStatus.CREATED, ("Location",)),
    (lambda route, status: "makes" in route.opt and status == HTTPStatus.CREATED, ("Location",)),
    (lambda route, status: CSV in route.opt.get("offers", ()) and status == HTTPStatus.OK, ("Content-Disposition",)),
    (lambda route, status: issubclass(route.opt.get("asks", object), Listed) and status == HTTPStatus.OK, ("Link",)),
    (lambda route, status: PREFER in route.opt.get("heads", ()) and status in APPLIED, ("Preference-Applied",)),
    (lambda route, status: writes(route) and status < HTTPStatus.MULTIPLE_CHOICES, ("Ledger-Position",)),
    (
        lambda route, status: EVENT_STREAM in route.opt.get("offers", ()) and status == HTTPStatus.OK,
        ("X-Accel-Buffering",),
    ),
    (lambda _route, status: status in {401, 403}, ("WWW-Authenticate",)),
    (lambda _route, status: status in {429, 503}, ("Retry-After",)),
    (lambda _route, status: status == HTTPStatus.UNSUPPORTED_MEDIA_TYPE, ("Accept-Post", "Accept-Encoding")),
    (lambda route, _status: "ends" in route.opt, ("Deprecation", "Sunset")),
)


def components(paths: str) -> Json:
    """Give the headers that these paths, as text, point to."""
    return {name: told for name, told in HEADERS.items() if f'#/components/headers/{name}"' in paths}


def headers_of(route: HTTPRouteHandler, status: int) -> Json:
    """Point to the headers that the answers of a route with a status have."""
    names = dict.fromkeys(name for is_so, told in WHERE if is_so(route, status) for name in told)
    return {name: {"$ref": f"#/components/headers/{name}"} for name in names}
