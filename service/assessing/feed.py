"""The feed: events in the order they were recorded, all or some, page by page.

What a page passes over its cursor passes over, too: what was not asked for, and what the key may not see.
"""

from collections.abc import Iterable
from typing import Final

import msgspec

from service.assessing.log import shown
from service.assessing.moment import Question
from service.assessing.places import Places, sites_of
from service.domain.caller import Caller
from service.domain.errors import CursorAhead, PositionNotReached
from service.domain.recorded import Recorded
from service.page import Page
from service.store.feed import feed
from service.store.feed_of import feed_of
from service.store.feed_of_subject import feed_of_subject
from service.store.stored import Stored

STRETCH: Final = 10_000
"""How many events are looked through at a time for those of some kinds or a site."""
STRETCHES: Final = 10
"""After how many of these a page ends with what was found, if only with a cursor that has moved."""

Sites = Iterable[str] | None


class Followed(msgspec.Struct, frozen=True, kw_only=True):
    """Which events; all that is given must hold, None asks nothing. Of several kinds an event has one."""

    kinds: tuple[str, ...] | None = None
    site: str | None = None
    subject: str | None = None


class Passed(msgspec.Struct, frozen=True):
    """Events that were found, and the seq up to which there are no others."""

    rows: list[Recorded]
    last: int


async def read_rows(question: Question, caller: Caller, followed: Followed, after: int, limit: int) -> Passed:
    """Find what was recorded after a seq. Raises NotFound for a site that the key does not read.

    Raises CursorAhead for a seq that the log has not come to, lest what will have it is passed over; PositionNotReached
    in a replica, which may come to it yet.
    """
    if after > question.judged_to:
        raise PositionNotReached(after) if question.position.replica else CursorAhead(after, question.judged_to)
    sites = sites_of(question, caller, Places(site=followed.site))
    stored, until = await _found(question, followed, sites, after, limit)
    last = stored[-1].recorded.seq if len(stored) == limit else until
    return Passed([one.recorded for one in stored], last)


async def read_feed(question: Question, caller: Caller, followed: Followed, after: int, limit: int) -> Page:
    """Give what was recorded after a seq. Raises what `read_rows` does."""
    found = await read_rows(question, caller, followed, after, limit)
    return Page(
        items=await shown(question, found.rows),
        next=str(found.last),
        about={"judged_to": question.judged_to, "more": found.last < question.judged_to},
    )


async def _found(
    question: Question, followed: Followed, sites: Sites, after: int, limit: int
) -> tuple[list[Stored], int]:
    """Find events, and say up to which seq all were found unless there are `limit` of them."""
    conn, organisation, head, kinds = question.conn, question.organisation, question.judged_to, followed.kinds
    if followed.subject is not None:
        asked = feed_of_subject(
            conn, organisation, followed.subject, after=after, until=head, limit=limit, kinds=kinds, sites=sites
        )
        return await asked, head
    if kinds is None and sites is None:
        return await feed(conn, organisation, after=after, limit=limit, until=head), head
    found: list[Stored] = []
    until = after
    for _ in range(STRETCHES):
        start, until, room = until, min(until + STRETCH, head), limit - len(found)
        found += await feed_of(conn, organisation, after=start, until=until, limit=room, kinds=kinds, sites=sites)
        if len(found) == limit or until >= head:
            break
    return found, until
