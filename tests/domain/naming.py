"""How a use that the calendar counts is named, by hand: RFC 9562 section 5.8, a UUID whose bits are ours to choose."""

from hashlib import sha256
from uuid import UUID


def use_ref(unit: UUID, shift: str) -> UUID:
    """Mix a unit with a shift, written "site/day/shift", and mark the version (8) and the variant (10 in binary)."""
    mixed = bytearray(one ^ two for one, two in zip(unit.bytes, sha256(shift.encode()).digest()[:16], strict=True))
    mixed[6] = mixed[6] & 0x0F | 0x80
    mixed[8] = mixed[8] & 0x3F | 0x80
    return UUID(bytes=bytes(mixed))
