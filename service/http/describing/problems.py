"""Which problems a route can answer with, told from what the route is."""

from collections.abc import Callable, Iterator
from typing import Any, Final, TypeAlias

import msgspec
from litestar.handlers import HTTPRouteHandler

from service.domain.errors import ContradictsHistory, LedgerError, Refused
from service.http.answers import PROBLEM
from service.http.describing.headers import headers_of
from service.http.heads import IDEMPOTENCY_KEY, IF_STILL, PREFER
from service.http.paging import Listed
from service.http.position import is_reading
from service.http.query import Nothing
from service.problems import ROWS

Route: TypeAlias = HTTPRouteHandler


def asks(route: Route) -> type[msgspec.Struct]:
    """Give the question of a route, an empty one where it asks for nothing."""
    found: type[msgspec.Struct] = route.opt.get("asks", Nothing)
    return found


def codes_of(family: type[LedgerError]) -> Iterator[str]:
    """List the codes of a family of errors."""
    if "code" in vars(family):
        yield family.code
    for kind in family.__subclasses__():
        yield from codes_of(kind)


STRICT: Final = ContradictsHistory.code
REFUSED: Final = tuple(code for code in codes_of(Refused) if code != STRICT)

#: Where a route is so, it can answer with these.
WHERE: Final[tuple[tuple[Callable[[Route], bool], tuple[str, ...]], ...]] = (
    (lambda _: True, ("bad-parameter", "not-acceptable", "internal", "unavailable")),
    (lambda route: route.opt["may"] is not None, ("unauthenticated", "invalid-key", "forbidden", "quota-exceeded")),
    (lambda route: any("{" in path for path in route.paths), ("not-found", "no-such-address")),
    (lambda route: "site" in asks(route).__struct_fields__, ("not-found",)),
    (lambda route: issubclass(asks(route), Listed), ("bad-cursor",)),
    (lambda route: "known_at" in asks(route).__struct_fields__, ("not-yet-known",)),
    (lambda route: is_reading(route) and route.opt["may"] is not None, ("position-not-reached",)),
    (lambda route: "waits" in route.opt, ("bad-cursor", "cursor-ahead", "too-many-waiting")),
    (lambda route: "takes" in route.opt, ("not-json", "malformed", "too-deep", "too-large")),
    (lambda route: "documents" in route.opt, ("bad-document", "too-large", "overloaded")),
    (
        lambda route: bool({"takes", "documents"} & route.opt.keys()),
        ("incomplete-body", "broken-coding", "unsupported-media"),
    ),
    (lambda route: "writes" in route.opt, ("proposal-state", "cannot-be-written")),
    (lambda route: "records" in route.opt, (*REFUSED, "overloaded")),
    (lambda route: "orders" in route.opt, ("recall-not-open", "overloaded")),
    (lambda route: "acts" in route.opt, (*REFUSED, "proposal-state", "approval-needed", "overloaded")),
    (lambda route: IDEMPOTENCY_KEY in route.opt.get("heads", ()), ("another-request",)),
    (lambda route: PREFER in route.opt.get("heads", ()), (STRICT,)),
    (lambda route: "settles" in route.opt, ("already-settled",)),
    (lambda route: "settles" in route.opt and "records" in route.opt, ("not-kept",)),
    (lambda route: "signs" in route.opt, ("webhooks-off",)),
    (lambda route: "rotates" in route.opt, ("too-many-secrets",)),
    (lambda route: "tries" in route.opt, ("too-many-trials",)),
    (lambda route: "makes" in route.opt, ("too-many-webhooks", "webhook-id-taken")),
    (lambda route: IF_STILL in route.opt.get("heads", ()), ("version-mismatch",)),
    (lambda route: "PUT" in route.http_methods, ("version-mismatch", "precondition-required")),
)


def problem_responses(route: Route) -> dict[str, Any]:
    """Describe the problems of a route, by status."""
    by_status: dict[int, list[str]] = {}
    for code in sorted({code for is_so, told in WHERE if is_so(route) for code in told}):
        by_status.setdefault(ROWS[code].status, []).append(code)
    return {str(status): response(route, status, by_status[status]) for status in sorted(by_status)}


def response(route: Route, status: int, told: list[str]) -> dict[str, Any]:
    """Describe the problems that share a status, each with its example."""
    examples = {code: {"$ref": f"#/components/examples/{code}"} for code in told}
    return {
        "description": "; ".join(f"{ROWS[code].title} (`/problems/{code}`)" for code in told),
        "headers": headers_of(route, status),
        "content": {PROBLEM: {"schema": {"$ref": "#/components/schemas/Problem"}, "examples": examples}},
    }
