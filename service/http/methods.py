"""The methods of an address: HEAD beside every GET, and an `Allow` that names all there are.

RFC 9110 section 9.3.2: HEAD is answered as GET without the body. The framework's own answer to OPTIONS names the
methods of the handlers it met first at an address; so `Allow` is written anew from the routes.
"""

from functools import lru_cache

from litestar import Litestar
from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPScope, Message, Receive, Scope, Send

ALLOW = b"allow"
BODILESS = "bodiless"
"""What the state of a request says where an answer without an end would be written for nobody."""


def with_all_methods(app: ASGIApp) -> ASGIApp:
    """Wrap the application: a HEAD is asked as a GET, and `Allow` names every method."""

    async def asking(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await app(scope, receive, send)
        elif scope["method"] != "HEAD":
            await app(scope, receive, naming(scope, send))
        else:
            await as_get(app, scope, receive, send)

    return asking


async def as_get(app: ASGIApp, scope: HTTPScope, receive: Receive, send: Send) -> None:
    """Ask for a HEAD as for a GET, in a scope of its own: by the server's own it knows that no body is to come.

    What the application learns of the request stands in the server's scope afterwards, where the log looks.
    """
    scope.setdefault("state", {})[BODILESS] = True
    asked: HTTPScope = {**scope, "method": "GET"}
    try:
        await app(asked, receive, naming(asked, bodiless(send)))
    finally:
        scope.update({**asked, "method": "HEAD"})


def naming(scope: HTTPScope, send: Send) -> Send:
    """Write an `Allow` anew on its way."""

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [
                (name, allowed(scope, value) if name.lower() == ALLOW else value) for name, value in message["headers"]
            ]
        await send(message)

    return sending


def bodiless(send: Send) -> Send:
    """Keep the body back, with its length told all the same."""

    async def sending(message: Message) -> None:
        if message["type"] != "http.response.body":
            await send(message)
        elif not message["more_body"]:
            await send({**message, "body": b""})

    return sending


def allowed(scope: HTTPScope, said: bytes) -> bytes:
    """Give the methods of the request's address; those said, where it is not known which route it is."""
    known = methods_of(scope["litestar_app"]).get(scope.get("path_template", ""))
    methods = {method.strip() for method in said.decode().split(",")} if known is None else set(known)
    return ", ".join(sorted(methods | ({"HEAD"} if "GET" in methods else set()))).encode()


@lru_cache(maxsize=8)
def methods_of(app: Litestar) -> dict[str, frozenset[str]]:
    """Give the methods that the routes take, by the pattern of their address."""
    return {route.path_format: frozenset(map(str, getattr(route, "methods", ()))) for route in app.routes}
