"""Long calls with named parameters, numbered once.

psycopg finds the names in a text anew on every execution when it has more than fifty of them; for one append of one
event that took longer than the database did.
"""

import re
from collections.abc import Mapping
from typing import Final, LiteralString, NamedTuple, TypeVar

import msgspec
from psycopg import AsyncConnection, AsyncRawCursor
from psycopg.rows import class_row

NAME: Final = re.compile(r"%\((\w+)\)s")
T = TypeVar("T", bound=msgspec.Struct)


class Call(NamedTuple):
    """A text with $1, $2, ... and the name each stands for."""

    text: bytes
    names: tuple[str, ...]


def numbered(query: LiteralString) -> Call:
    """Give numbers to the parameters of a text that names each of them once."""
    names = tuple(NAME.findall(query))
    numbers = {name: number for number, name in enumerate(names, start=1)}
    return Call(NAME.sub(lambda found: f"${numbers[found[1]]}", query).encode(), names)


async def rows_of(conn: AsyncConnection, call: Call, parameters: Mapping[str, object], row: type[T]) -> list[T]:
    """Run the call as a prepared statement and give its rows."""
    async with AsyncRawCursor(conn, row_factory=class_row(row)) as cursor:
        await cursor.execute(call.text, [parameters[name] for name in call.names], prepare=True)
        return await cursor.fetchall()
