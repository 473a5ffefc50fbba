"""Whether the service lives."""

from typing import Any, ClassVar, Literal

import msgspec


class Live(msgspec.Struct, frozen=True, kw_only=True):
    """The process answers."""

    example: ClassVar[dict[str, Any]] = {"status": "live"}

    status: Literal["live"]


class Ready(msgspec.Struct, frozen=True, kw_only=True):
    """The database answers too."""

    example: ClassVar[dict[str, Any]] = {"status": "ready"}

    status: Literal["ready"]
