"""Rows as COPY reads them in binary, told by the catalogue which columns a table has and of which types."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from struct import pack
from typing import Any, Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.sql import SQL, Composed, Identifier

from tests.bench.scale.forms import Gap, Piece, parted

HEAD: Final = b"PGCOPY\n\xff\r\n\x00" + bytes(8)
END: Final = b"\xff\xff"
EPOCH: Final = datetime(2000, 1, 1, tzinfo=UTC)
ENDLESS: Final = 2**63 - 1
TIMESTAMPTZ: Final = 1184

COLUMNS: Final = """
SELECT attname, format_type(atttypid, NULL) FROM pg_attribute
WHERE attrelid = %(table)s::regclass AND attnum > 0 AND NOT attisdropped AND attgenerated = ''
ORDER BY attnum
"""

Names = Collection[bytes]
Row = Mapping[str, Any]


class Table:
    """A table and its columns, as (name, type)."""

    def __init__(self, name: str, columns: list[tuple[str, str]]) -> None:
        self.name, self.columns = name, columns

    def copy(self) -> Composed:
        """Give the statement that takes rows in."""
        columns = SQL(", ").join(Identifier(name) for name, _ in self.columns)
        return SQL("COPY {} ({}) FROM STDIN (FORMAT BINARY)").format(Identifier("ledger", self.name), columns)

    def packed(self, row: Row, names: Names) -> Iterator[Piece]:
        """Pack a row with gaps for the names that stand in it. Raises KeyError for a column it lacks."""
        yield pack("!h", len(self.columns))
        for name, kind in self.columns:
            value = row[name]
            if value is None:
                yield pack("!i", -1)
                continue
            pieces = _pieces(value, kind, names)
            yield pack("!i", sum(piece.size if isinstance(piece, Gap) else len(piece) for piece in pieces))
            yield from pieces


def _pieces(value: Any, kind: str, names: Names) -> list[Piece]:
    if isinstance(value, Gap):
        return [value]
    packed = PACK[kind](value)
    if kind == "uuid":
        return [Gap(packed, 16) if packed in names else packed]
    return list(parted(packed, names)) if kind in {"text", "bytea"} else [packed]


def moment(value: datetime) -> bytes:
    """Pack a moment as microseconds since 2000."""
    return pack("!q", (value - EPOCH) // timedelta(microseconds=1))


def _endless(value: datetime | float) -> bytes:
    return moment(value) if isinstance(value, datetime) else pack("!q", ENDLESS)


def _moments(value: Sequence[datetime]) -> bytes:
    """Pack an array of one dimension without nulls."""
    head = pack("!iii", 1, 0, TIMESTAMPTZ) + pack("!ii", len(value), 1) if value else pack("!iii", 0, 0, TIMESTAMPTZ)
    return head + b"".join(pack("!i", 8) + moment(at) for at in value)


def _day(value: date) -> bytes:
    return pack("!i", value.toordinal() - EPOCH.toordinal())


def _uuid(value: UUID) -> bytes:
    return value.bytes


PACK: Final[Mapping[str, Callable[[Any], bytes]]] = {
    "text": str.encode,
    "bytea": bytes,
    "uuid": _uuid,
    "integer": lambda value: pack("!i", value),
    "bigint": lambda value: pack("!q", value),
    "smallint": lambda value: pack("!h", value),
    "boolean": lambda value: pack("!?", value),
    "timestamp with time zone": _endless,
    "timestamp with time zone[]": _moments,
    "date": _day,
}
"""By type as the catalogue names it; of a moment any number stands for no end."""


async def table(conn: AsyncConnection, name: str) -> Table:
    """Learn what columns a table has."""
    cursor = await conn.execute(COLUMNS, {"table": f"ledger.{name}"})
    return Table(name, await cursor.fetchall())
