"""Columns of values that travel as arrays of one fixed type, in binary.

A plain list takes its type from what is in it (none, small or large numbers, only nulls), and each mixture would be
another prepared statement; these keep one, and are packed at once.
"""

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta
from struct import Struct, pack
from uuid import UUID

from psycopg import adapters
from psycopg.adapt import Dumper
from psycopg.pq import Format
from typing_extensions import override

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)
INFINITY = 2**63 - 1
NULL = b"\xff\xff\xff\xff"


class Texts(list[str | None]):
    """text[]."""


class Blobs(list[bytes | None]):
    """bytea[]."""


class Uuids(list[UUID | None]):
    """uuid[]."""


class Instants(list[datetime | None]):
    """timestamptz[] of aware moments."""


class Sinces(list[datetime | None]):
    """timestamptz[]; None is '-infinity'."""


class Untils(list[datetime | None]):
    """timestamptz[]; None is 'infinity'."""


class Days(list[date | None]):
    """date[]."""


class Bigints(list[int | None]):
    """bigint[]."""


class Integers(list[int | None]):
    """integer[]."""


class Smallints(list[int | None]):
    """smallint[]."""


class Booleans(list[bool | None]):
    """boolean[]."""


def _instant(value: datetime) -> bytes:
    """Pack a moment as PostgreSQL counts it: microseconds since 2000."""
    return pack("!iq", 8, (value - EPOCH) // MICROSECOND)


def _day(value: date) -> bytes:
    """Pack a day as days since 2000-01-01."""
    return pack("!ii", 4, value.toordinal() - 730120)


def _text(value: str) -> bytes:
    """Pack text as UTF-8."""
    encoded = value.encode()
    return pack("!i", len(encoded)) + encoded


def _blob(value: bytes) -> bytes:
    """Pack bytes as they are."""
    return pack("!i", len(value)) + value


def _uuid(value: UUID) -> bytes:
    """Pack the sixteen bytes."""
    return b"\x00\x00\x00\x10" + value.bytes


def _boolean(value: bool) -> bytes:  # noqa: FBT001 - the value itself, not a switch
    """Pack one byte."""
    return b"\x00\x00\x00\x01\x01" if value else b"\x00\x00\x00\x01\x00"


def _packed(column: Iterable[object], element: Callable[..., bytes], element_oid: int, null: bytes) -> bytes:
    """Pack a column as PostgreSQL reads an array: one dimension, lower bound one, each element after its length."""
    elements = [null if value is None else element(value) for value in column]
    if not elements:
        return pack("!iiI", 0, 0, element_oid)
    return pack("!iiIii", 1, NULL in elements, element_oid, len(elements), 1) + b"".join(elements)


def _fixed(size: int, form: str) -> Callable[[int], bytes]:
    """Pack a number of `size` bytes."""
    packer = Struct(f"!i{form}").pack
    return lambda value: packer(size, value)


def _travels(column: type, array: int, element_oid: int, element: Callable[..., bytes], null: bytes = NULL) -> None:
    """Let psycopg send a class of columns as one array type; the oids of PostgreSQL's own types never change."""

    class ColumnDumper(Dumper):
        format = Format.BINARY
        oid = array

        @override
        def dump(self, obj: Iterable[object]) -> bytes:
            return _packed(obj, element, element_oid, null)

    adapters.register_dumper(column, ColumnDumper)


_travels(Texts, 1009, 25, _text)
_travels(Blobs, 1001, 17, _blob)
_travels(Uuids, 2951, 2950, _uuid)
_travels(Instants, 1185, 1184, _instant)
_travels(Sinces, 1185, 1184, _instant, null=pack("!iq", 8, -INFINITY - 1))
_travels(Untils, 1185, 1184, _instant, null=pack("!iq", 8, INFINITY))
_travels(Days, 1182, 1082, _day)
_travels(Bigints, 1016, 20, _fixed(8, "q"))
_travels(Integers, 1007, 23, _fixed(4, "i"))
_travels(Smallints, 1005, 21, _fixed(2, "h"))
_travels(Booleans, 1000, 16, _boolean)
