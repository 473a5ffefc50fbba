"""One page of a list."""

import msgspec


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """Some items in the list's order, and where the next page begins.

    `next` is the plain key of the last item looked at, None at the end of the list. `about` stands beside the items in
    the answer; its `as_at` and `known_at` hold for the pages that follow, so that all of them tell of one state.
    """

    items: list[dict[str, object]]
    next: str | None = None
    about: dict[str, object] = {}
