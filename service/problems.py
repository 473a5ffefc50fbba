"""Which status and title each problem has: a code stands here once, and nothing else decides a status.

Beside the doors because a rejected message is kept with what its sender was told.
"""

from typing import Final, NamedTuple
from urllib.parse import quote

from service.domain.problem import Fault, Problem


class Row(NamedTuple):
    """How HTTP tells a kind of problem."""

    status: int
    title: str


#: Codes of `service.domain.errors`.
LEDGER: dict[str, Row] = {
    "not-json": Row(400, "The body is not JSON"),
    "malformed": Row(422, "The message is not well-formed"),
    "in-the-future": Row(422, "The event lies in the future"),
    "unknown-reference": Row(422, "The message names something that is not defined"),
    "unsupported-model": Row(422, "Units of this kind cannot be kept yet"),
    "policy-refused": Row(422, "The law allows no such policy"),
    "site-not-allowed": Row(403, "The key is not bound to this site"),
    "kind-not-allowed": Row(403, "The key's role may not post this kind"),
    "own-adverse-event": Row(403, "Nobody voids bad news of their own"),
    "content-clash": Row(409, "The id is taken by other content"),
    "tag-taken": Row(409, "The tag is in use by another unit"),
    "contradicts-history": Row(409, "The event contradicts the history"),
    "unauthenticated": Row(401, "A key is needed"),
    "invalid-key": Row(401, "The key is not valid"),
    "forbidden": Row(403, "The key does not reach that far"),
    "not-found": Row(404, "Not found"),
    "bad-parameter": Row(400, "A parameter is not understood"),
    "bad-document": Row(422, "The document cannot be read"),
    "bad-cursor": Row(400, "The cursor belongs to another question"),
    "not-yet-known": Row(400, "The moment of knowledge has not come yet"),
    "too-large": Row(413, "More than one request may carry"),
    "too-deep": Row(400, "The JSON is nested too deep"),
    "unsupported-media": Row(415, "The body is in a form that is not read here"),
    "not-acceptable": Row(406, "The answer is not to be had in that form"),
    "quota-exceeded": Row(429, "Too many requests"),
    "too-many-waiting": Row(429, "Too many requests wait"),
    "version-mismatch": Row(412, "The condition on the version does not hold"),
    "precondition-required": Row(428, "The change must say which version it changes"),
    "already-settled": Row(409, "The rejected message is settled already"),
    "not-kept": Row(409, "The rejected message itself is not kept"),
    "recall-not-open": Row(409, "The recall stops no units"),
    "proposal-state": Row(409, "The proposal is too far for this, or not far enough"),
    "cannot-be-written": Row(409, "No document can say what is on record"),
    "approval-needed": Row(409, "The order needs the approval of a manager"),
    "webhooks-off": Row(409, "This service sends no webhooks"),
    "too-many-webhooks": Row(409, "There are too many webhooks"),
    "too-many-secrets": Row(409, "There are too many secrets"),
    "too-many-trials": Row(429, "Too many receivers are being tried"),
    "webhook-id-taken": Row(409, "The id belongs to another webhook"),
    "overloaded": Row(503, "Too much waits to be recorded"),
    "cursor-ahead": Row(409, "The log does not go that far"),
    "position-not-reached": Row(503, "The position has not arrived here yet"),
    "unavailable": Row(503, "Not available for now"),
}

#: Codes of the protocol alone, with which no use of the service has to do, but for failures of our own.
PROTOCOL: dict[str, Row] = {
    "no-such-address": Row(404, "There is no such address"),
    "method-not-allowed": Row(405, "The address does not take this method"),
    "bad-request": Row(400, "The request is not understood"),
    "incomplete-body": Row(400, "The request ended before its body did"),
    "another-request": Row(422, "The name of the request belongs to another one"),
    "broken-coding": Row(400, "The body is not in the coding that it says"),
    "internal": Row(500, "The service failed"),
}

ROWS = LEDGER | PROTOCOL

FAILED: Final = Problem(code="internal", detail="The fault is the service's own. 'X-Request-Id' finds it in the log.")

#: Characters that a JSON pointer keeps in a URI fragment (RFC 6901 section 6, RFC 3986 section 3.5).
IN_FRAGMENT = "/~!$&'()*+,;=:@?"


def status_of(problem: Problem) -> int:
    """Give the status that answers a problem."""
    return ROWS[problem.code].status


def described(problem: Problem) -> dict[str, object]:
    """Tell a problem in the members of RFC 9457 and its own."""
    row = ROWS[problem.code]
    told: dict[str, object] = {
        "type": f"/problems/{problem.code}",
        "title": row.title,
        "status": row.status,
        "detail": problem.detail,
    }
    if problem.errors:
        told["errors"] = [_fault(error) for error in problem.errors]
    return told | problem.members


def _fault(error: Fault) -> dict[str, str]:
    """Tell one fault, its pointer in the form of a URI fragment (RFC 9457 section 3, RFC 6901 section 6)."""
    told = {"detail": error.detail}
    if error.pointer is not None:
        told["pointer"] = f"#{quote(error.pointer, safe=IN_FRAGMENT)}"
    if error.parameter is not None:
        told["parameter"] = error.parameter
    if error.at is not None:
        told["at"] = error.at
    return told
