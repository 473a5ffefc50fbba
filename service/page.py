"""One page of a list, and the plain keys that say where it goes on."""

from datetime import datetime
from uuid import UUID

import msgspec

from service.domain.errors import BadCursor

MOST = 2**62


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """Some items in the list's order, and where the next page begins.

    `next` is the plain key of the last item looked at, None at the end of the list. `about` stands beside the items in
    the answer; its `as_at` and `known_at` hold for the pages that follow, so that all of them tell of one state.
    """

    items: list[dict[str, object]]
    next: str | None = None
    about: dict[str, object] = {}


def number(after: str | None) -> int:
    """Read a key that is a number, 0 where there is none. Raises BadCursor."""
    text = after or "0"
    if not (text.isascii() and text.isdigit()) or len(text) > len(str(MOST)) or int(text) > MOST:
        raise BadCursor
    return int(text)


def moment_and_name(after: str) -> tuple[datetime, UUID]:
    """Read a key that is a moment and the name of what came about at it. Raises BadCursor."""
    moment, _, name = after.partition(" ")
    try:
        return datetime.fromisoformat(moment), UUID(name)
    except ValueError as error:
        raise BadCursor from error
