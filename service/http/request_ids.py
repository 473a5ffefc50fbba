"""What a request is called, in its answer and in the log.

A sender may name it, as long as the name is of the sort that machines draw: a UUID, or 16 to 32 digits of one. Any
other might tell of a person, or be a key sent in the wrong place, and the log keeps neither: the request is given one.
"""

import re
from collections.abc import Iterable
from uuid import uuid4

HEADER = b"x-request-id"
DRAWN = re.compile(rb"[0-9A-Fa-f]{8}(-[0-9A-Fa-f]{4}){3}-[0-9A-Fa-f]{12}|[0-9A-Fa-f]{16,32}")


def request_id_of(headers: Iterable[tuple[bytes, bytes]]) -> bytes:
    """Take the sender's name for the request, or give it one."""
    sent = next((value for name, value in headers if name == HEADER), b"")
    return sent if DRAWN.fullmatch(sent) else str(uuid4()).encode()
