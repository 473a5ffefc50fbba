"""The one place where an answer becomes bytes."""

from collections.abc import Mapping
from typing import TypeAlias

import msgspec
from litestar import Response

Answer: TypeAlias = Response[bytes]

JSON = "application/json"
PROBLEM = "application/problem+json"


def answer(value: object, *, status: int = 200, media: str = JSON, headers: Mapping[str, str] | None = None) -> Answer:
    """Write a value as JSON, object members in the order they stand in."""
    return Response(msgspec.json.encode(value), status_code=status, media_type=media, headers=headers)


def not_modified(headers: Mapping[str, str]) -> Answer:
    """Answer that the reader has this version already (RFC 9110 section 15.4.5)."""
    return Response(b"", status_code=304, headers=headers)
