"""Opaque cursors: where a list goes on, sealed so that they hold for the question they were written for alone.

The seal keeps out what was made up, or belongs to another list or to a key of another reach. It guards no secret:
whoever follows a cursor sees what the key may see, and nothing else. Its key is the organisation, so that a cursor
outlives processes, restores, and keys that are replaced by their like.
"""

import base64
import binascii
import hashlib
import hmac
from uuid import UUID

import msgspec

from service.domain.errors import BadCursor

SEAL = 16


class Cursor(msgspec.Struct, frozen=True):
    """The plain key of the last item looked at, and what the first page settled for all (moments as text)."""

    key: str
    pins: dict[str, str] = {}


def seal(cursor: Cursor, question: str, organisation: UUID) -> str:
    """Write a cursor for a question."""
    content = msgspec.json.encode(cursor)
    return base64.urlsafe_b64encode(stamp(content, question, organisation) + content).decode().rstrip("=")


def unseal(text: str, question: str, organisation: UUID) -> Cursor:
    """Read a cursor. Raises BadCursor where it was not written for this question."""
    try:
        sealed = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError) as error:
        raise BadCursor from error
    content = sealed[SEAL:]
    if not hmac.compare_digest(sealed[:SEAL], stamp(content, question, organisation)):
        raise BadCursor
    try:
        return msgspec.json.decode(content, type=Cursor)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:  # sealed by somebody who knows the organisation's id
        raise BadCursor from error


def stamp(content: bytes, question: str, organisation: UUID) -> bytes:
    """Bind the content to the question."""
    key = b"cursor" + organisation.bytes
    return hmac.digest(key, question.encode() + b"\0" + content, hashlib.sha256)[:SEAL]
