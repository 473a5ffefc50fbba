"""What every request passes before its handler. No guard of litestar, which copies the route for each request."""

from collections.abc import Awaitable, Callable

from litestar.enums import HttpMethod

from service.http.auth import admit
from service.http.heads import refuse_doubled_lines, refuse_long_heads
from service.http.negotiation import negotiate
from service.http.position import demand_position
from service.http.query import refuse_parameters
from service.http.quota import charge
from service.http.request import Asked


def entrance(admit: Callable[[Asked], Awaitable[None]] = admit) -> Callable[[Asked], Awaitable[None]]:
    """Give the entrance: who asks first, so that a stranger learns nothing of what could be asked."""

    async def enter(request: Asked) -> None:
        if request.method == HttpMethod.OPTIONS:
            return
        refuse_doubled_lines(request)
        await admit(request)
        charge(request)
        negotiate(request)
        refuse_parameters(request)
        refuse_long_heads(request)
        await demand_position(request)

    return enter
