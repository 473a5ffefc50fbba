"""The statements that are sent while something is done."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from unittest.mock import patch

from psycopg import AsyncCursor


@contextmanager
def statements() -> Iterator[list[object]]:
    """Note what the block sends."""
    sent: list[object] = []
    execute = AsyncCursor.execute

    async def noted(cursor: Any, query: Any, *arguments: Any, **named: Any) -> Any:
        sent.append(query)
        return await execute(cursor, query, *arguments, **named)

    with patch.object(AsyncCursor, "execute", noted):
        yield sent
