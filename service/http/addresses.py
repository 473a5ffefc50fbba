"""Which addresses there are: each as it is written alone, and `*` for the service itself.

The framework takes `/v1//assets` and `/v1/assets/` for `/v1/assets`. Two addresses of one thing are one too many: what
is kept, linked or forbidden by address would be so for one of them alone.
"""

from litestar import Request
from litestar.enums import HttpMethod, ScopeType
from litestar.types import ASGIApp, HTTPScope, Receive, Scope, Send

from service.domain.problem import Problem
from service.http.answers import Answer
from service.http.failures import ADDRESSES
from service.http.methods import methods_of
from service.http.problems import refusal

SERVICE = "*"


def as_written(app: ASGIApp) -> ASGIApp:
    """Wrap the application: another spelling is 404; `OPTIONS *` tells the methods there are (RFC 9110, 9.3.7)."""

    async def finding(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await app(scope, receive, send)
        elif scope["path"] == SERVICE and scope["method"] == HttpMethod.OPTIONS:
            methods = frozenset[str]().union(*methods_of(scope["litestar_app"]).values())
            await told(Answer(b"", status_code=204, headers={"Allow": ", ".join(methods)}), scope, receive, send)
        elif is_alias(scope["path"]):
            await told(refusal(Problem(code="no-such-address", detail=ADDRESSES)), scope, receive, send)
        else:
            await app(scope, receive, send)

    return finding


def is_alias(path: str) -> bool:
    """Say whether the framework would take a path for another one."""
    return "//" in path or (path.endswith("/") and path != "/")


async def told(answer: Answer, scope: HTTPScope, receive: Receive, send: Send) -> None:
    """Send an answer that no route gives."""
    await answer.to_asgi_response(app=None, request=Request(scope))(scope, receive, send)
