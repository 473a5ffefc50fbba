"""/openapi.json: the description of this interface."""

from functools import cache

from litestar import get

from service.http import roles
from service.http.answers import JSON, Answer
from service.http.request import Asked


@cache
def written() -> bytes:
    """Write the description; it takes a second, and not every process is asked for it."""
    from service.http.openapi import document  # noqa: PLC0415 -- it describes the routes, of which this is one

    return document()


@get("/openapi.json", may=roles.ANYONE, include_in_schema=False, sync_to_thread=True)
def get_openapi(request: Asked) -> Answer:  # noqa: ARG001 -- every handler takes the request
    """Read the description of this interface (OpenAPI 3.1); written beside the loop, which goes on answering."""
    return Answer(written(), media_type=JSON)


HANDLERS = (get_openapi,)
