"""How often a key may ask: the quota of this process, told in `RateLimit-Policy` and `RateLimit`.

These are the fields of draft-ietf-httpapi-ratelimit-headers-11, a draft still. A key has so many requests a minute;
what it does not use comes back evenly, so that after a pause there is room for all that a device kept off line.
"""

import time
from collections.abc import Callable
from typing import Final
from uuid import UUID

import msgspec

from service.domain.errors import QuotaExceeded
from service.http.request import Asked

WINDOW = 60
"""Seconds that a quota is for."""
SECOND: Final = 10**9
"""Nanoseconds."""
NAME = "key"
FORGET_AT = 10_000
"""So many keys are kept in mind before those that have used nothing lately are forgotten."""


class Left(msgspec.Struct, frozen=True):
    """What is left of a quota: whole requests, and the seconds until all of it is there again."""

    requests: int
    seconds: int


class Quota:
    """The quota of every key; `clock` gives nanoseconds that never go back.

    Time is counted in whole shares of a nanosecond, as many as there are requests, so that none is lost to rounding,
    however long the machine has been up.
    """

    def __init__(self, requests: int, clock: Callable[[], int] = time.monotonic_ns) -> None:
        self.requests = requests
        self._clock = clock
        self._full_at: dict[UUID, int] = {}

    def take(self, key: UUID) -> Left:
        """Take one request from a key's quota. Raises QuotaExceeded where none is left."""
        now, second, each = self._clock() * self.requests, SECOND * self.requests, WINDOW * SECOND
        full_at = max(self._full_at.get(key, now), now) + each
        left = now + WINDOW * second - full_at
        if left < 0:
            raise QuotaExceeded(-(left // second))
        if len(self._full_at) >= FORGET_AT:
            self._full_at = {known: moment for known, moment in self._full_at.items() if moment > now}
        self._full_at[key] = full_at
        return Left(left // each, -((now - full_at) // second))

    def headers(self, left: Left) -> dict[str, str]:
        """Tell a quota and what is left of it."""
        return {
            "RateLimit-Policy": f'"{NAME}";q={self.requests};w={WINDOW}',
            "RateLimit": f'"{NAME}";r={left.requests};t={left.seconds}',
        }


def charge(request: Asked) -> None:
    """Take a request from its key's quota. Raises QuotaExceeded."""
    quota: Quota | None = request.app.state.get("quota")
    if quota is not None and "auth" in request.scope:
        request.scope["state"]["headers"] = quota.headers(quota.take(request.auth.key))
