"""Follow: the log as it grows, for who waits for what comes next.

Nobody holds a connection while waiting, and few of those who waited read at the same time. A key that has ended since
it was presented reads nothing more.
"""

import asyncio
from collections.abc import AsyncGenerator
from typing import Final

from service.assessing.feed import Followed, read_feed
from service.assessing.moment import asked
from service.domain.caller import Caller
from service.domain.errors import InvalidKey
from service.ledger import Ledger
from service.page import Page, number
from service.store.ended_keys import ended_keys

__all__ = ["HEARTBEAT", "Followed", "page", "pages"]

HEARTBEAT: Final = 15.0
"""Seconds after which a stream says that it is still there, though nothing happened (WHATWG HTML 9.2.7)."""
PAGE: Final = 100
"""How many events of a stream are held in memory at most."""


async def page(ledger: Ledger, caller: Caller, followed: Followed, *, after: int, limit: int, seconds: int = 0) -> Page:
    """Give what was recorded after a seq; where there is nothing yet, wait for it at most so long.

    An empty page has a cursor that moved as far as was looked. Raises TooManyWaiting, and InvalidKey where the key
    ended meanwhile.
    """
    found = await _read(ledger, caller, followed, after, limit)
    if not seconds or found.items:
        return found
    clock = asyncio.get_running_loop().time
    until = clock() + seconds
    with ledger.heads.place(caller.key):
        while not found.items and clock() < until:
            if not (found.about["more"] or await _more(ledger, caller, found, until - clock())):
                break
            found = await _again(ledger, caller, followed, found, limit)
    return found


async def pages(ledger: Ledger, caller: Caller, followed: Followed, *, after: int) -> AsyncGenerator[Page]:
    """Give page after page: all there is, then what comes; an empty one as often as nothing comes for a while.

    The next page is read when it is asked for, and not before. Ends when the service does. Raises TooManyWaiting, and
    InvalidKey when the key ends.
    """
    with ledger.heads.place(caller.key):
        found = await _read(ledger, caller, followed, after, PAGE)
        while not ledger.heads.ended:
            yield found
            if not found.about["more"]:
                await _more(ledger, caller, found, HEARTBEAT)
            found = await _again(ledger, caller, followed, found, PAGE)


async def _more(ledger: Ledger, caller: Caller, found: Page, seconds: float) -> bool:
    """Wait for something behind a page; say whether it came."""
    return await ledger.heads.reach(ledger.pool, caller.organisation, number(found.next) + 1, seconds)


async def _again(ledger: Ledger, caller: Caller, followed: Followed, found: Page, limit: int) -> Page:
    """Read on after a page."""
    async with ledger.heads.reading, asked(ledger, caller) as question:
        if await ended_keys(question.conn, caller.organisation, [caller.key], ledger.clock()):
            raise InvalidKey
        return await read_feed(question, caller, followed, number(found.next), limit)


async def _read(ledger: Ledger, caller: Caller, followed: Followed, after: int, limit: int) -> Page:
    """Read for a key that was presented this moment."""
    async with asked(ledger, caller) as question:
        return await read_feed(question, caller, followed, after, limit)
