"""/health: for whoever starts, watches and stops the service. Tells nothing of any organisation."""

from litestar import get

from service.http import roles
from service.http.answers import Answer, answer
from service.http.request import Asked, ledger_of

PATIENCE = 2.0
"""Seconds that the database has to answer in."""


@get("/health/live", may=roles.ANYONE)
async def get_live(request: Asked) -> Answer:  # noqa: ARG001 -- every handler takes the request
    """Say that the process answers."""
    return answer({"status": "live"})


@get("/health/ready", may=roles.ANYONE)
async def get_ready(request: Asked) -> Answer:
    """Say that the database answers too, so that requests may be sent here; 503 if not."""
    pool = ledger_of(request).pool
    async with pool.connection(PATIENCE) as conn:
        await pool.check_connection(conn)
    return answer({"status": "ready"})


HANDLERS = (get_live, get_ready)
