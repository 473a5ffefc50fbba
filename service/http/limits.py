"""What one request may carry (design 3). What is over is refused whole and not kept."""

import re

from service.domain.errors import TooDeep, TooLarge

MAX_BYTES = 4 * 1024 * 1024
MAX_EVENTS = 1_000
MAX_LEVELS = 32

#: A JSON string, or one that never ends: so that the search never starts anew inside it.
STRING = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"?', re.DOTALL)
#: More levels than allowed, opened one directly in the other.
STAIRS = b"[" * (MAX_LEVELS + 1)
NOT_BRACKETS = bytes(byte for byte in range(256) if byte not in b"[]{}")
ALIKE = bytes.maketrans(b"{}", b"[]")


def too_many_bytes() -> TooLarge:
    """Say how long a body may be."""
    return TooLarge(f"A body may have {MAX_BYTES} bytes: send it in parts.", MAX_BYTES)


def check_count(events: int) -> None:
    """Refuse an array of more events than a batch may have."""
    if events > MAX_EVENTS:
        detail = f"A batch may have {MAX_EVENTS} events, this one has {events}: send it in parts."
        raise TooLarge(detail, MAX_EVENTS)


def check_levels(message: bytes) -> None:
    """Refuse JSON that is nested deeper than any event, so that no decoder has to follow it down.

    Takes innermost pairs of brackets away, one level a round, without ever walking the text in Python. Lists and
    objects count alike. What is left of a text that is no JSON is left to the decoder, unless it opens more levels
    than it may one in the other.
    """
    if openings(message) <= MAX_LEVELS:
        return
    brackets = STRING.sub(b"", message).translate(ALIKE, NOT_BRACKETS)
    for _ in range(MAX_LEVELS + 1):
        if STAIRS in brackets:
            raise too_deep()
        before, brackets = brackets, brackets.replace(b"[]", b"")
        if brackets == before:
            return
    raise too_deep()


def openings(text: bytes) -> int:
    """Count opening brackets: no text is nested deeper."""
    return text.count(b"[") + text.count(b"{")


def too_deep() -> TooDeep:
    """Say how deep JSON may be nested."""
    return TooDeep(f"JSON may be nested {MAX_LEVELS} levels deep here; no event needs more.", MAX_LEVELS)
