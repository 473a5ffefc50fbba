"""The end of a route's life, said ahead of it: `Deprecation` (RFC 9745) and `Sunset` (RFC 8594).

A route says it with `ends=End(...)`; none does yet. The description of the interface marks such a route as deprecated.
"""

from datetime import UTC, datetime
from email.utils import format_datetime

import msgspec
from litestar.types import HTTPScope


class End(msgspec.Struct, frozen=True, kw_only=True):
    """Since when a route should not be built on, from when on it may be gone, and the page that says what to use."""

    deprecated_at: datetime
    gone_at: datetime
    page: str

    def __post_init__(self) -> None:
        """Refuse a route that would be gone before it is deprecated (RFC 8594 section 3)."""
        if self.gone_at < self.deprecated_at:
            message = "a route cannot be gone before it is deprecated"
            raise ValueError(message)

    def headers(self) -> dict[str, str]:
        """Give the headers: the first date is a structured field, the second of the form of `Date`."""
        return {
            "Deprecation": f"@{int(self.deprecated_at.timestamp())}",
            "Sunset": format_datetime(self.gone_at.astimezone(UTC), usegmt=True),
            "Link": f'<{self.page}>; rel="deprecation"; type="text/html"',
        }


def ending(scope: HTTPScope) -> dict[str, str]:
    """Give what the answer of a request's route says of the route's end."""
    if "route_handler" not in scope:  # an address that there is not
        return {}
    end: End | None = scope["route_handler"].opt.get("ends")
    return {} if end is None else end.headers()
