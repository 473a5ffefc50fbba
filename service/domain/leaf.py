"""The leaf hash of a stored event, as the append computes it in SQL.

Leaf hashing is RFC 6962 section 2.1: SHA-256 over a zero byte and the entry. The entry is a header of
length-prefixed fields followed by the body, so that no two different rows give the same bytes.
"""

import hashlib
from datetime import UTC, datetime, timedelta
from uuid import UUID

import msgspec

FORMAT = b"1"
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Header(msgspec.Struct, frozen=True, kw_only=True):
    """What the service adds to an event and binds to its body."""

    organisation: UUID
    seq: int
    recorded_at: datetime
    received_at: datetime
    sent_at: datetime | None
    key: UUID
    kind_version: int
    imported: bool


def microseconds(instant: datetime) -> int:
    """Give whole microseconds since 1970-01-01T00:00:00Z."""
    return (instant - EPOCH) // timedelta(microseconds=1)


def header_bytes(header: Header) -> bytes:
    """Write the header: each field as a four-byte big-endian length and its bytes."""
    fields = (
        FORMAT,
        header.organisation.bytes,
        header.seq.to_bytes(8, "big"),
        microseconds(header.recorded_at).to_bytes(8, "big", signed=True),
        microseconds(header.received_at).to_bytes(8, "big", signed=True),
        b"" if header.sent_at is None else microseconds(header.sent_at).to_bytes(8, "big", signed=True),
        header.key.bytes,
        header.kind_version.to_bytes(2, "big"),
        b"\x01" if header.imported else b"\x00",
    )
    return b"".join(len(field).to_bytes(4, "big") + field for field in fields)


def entry_hash(entry: bytes) -> bytes:
    """Hash one entry of the log as a Merkle leaf (RFC 6962 section 2.1)."""
    return hashlib.sha256(b"\x00" + entry).digest()


def leaf_hash(header: Header, body: bytes) -> bytes:
    """Hash a stored event."""
    return entry_hash(header_bytes(header) + body)
