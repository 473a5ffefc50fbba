"""Answers that are problem details (RFC 9457)."""

from collections.abc import Mapping

from service.domain.problem import Problem
from service.http.answers import PROBLEM, Answer, answer
from service.http.coding import CODINGS
from service.problems import described, status_of

#: RFC 6750 section 3 for keys, RFC 9110 sections 10.2.3 and 12.5.3 for what to send instead.
HEADERS = {
    "unauthenticated": {"WWW-Authenticate": "Bearer"},
    "invalid-key": {"WWW-Authenticate": 'Bearer error="invalid_token"'},
    "forbidden": {"WWW-Authenticate": 'Bearer error="insufficient_scope"'},
    "unsupported-media": {"Accept-Encoding": ", ".join(CODINGS)},
    "unavailable": {"Retry-After": "1"},
}


def refusal(
    problem: Problem, more: Mapping[str, object] | None = None, *, headers: Mapping[str, str] | None = None
) -> Answer:
    """Answer with a problem; `more` stands beside its members."""
    told = described(problem) | dict(more or {})
    return answer(told, status=status_of(problem), media=PROBLEM, headers=headers_of(problem) | dict(headers or {}))


def headers_of(problem: Problem) -> dict[str, str]:
    """Give the headers that a status obliges to, or that say what to send instead."""
    current, seconds = problem.members.get("current"), problem.members.get("retry_after")
    more = {} if current is None else {"ETag": f'"{current}"'}
    more |= {} if seconds is None else {"Retry-After": str(seconds)}
    return HEADERS.get(problem.code, {}) | more
