"""Lists of stock as they are shown: how much there is of each item at each site, and the ledger of one of them."""

from collections.abc import Collection
from datetime import datetime

import msgspec

from service.assessing.by_shelf import Line, names, page_of
from service.assessing.moment import Question
from service.assessing.shelves import Shelf, Wanted, told
from service.assessing.stock import Level, levels_of
from service.domain.kinds.stock_moved import StockMoved
from service.domain.recorded import Recorded
from service.domain.stock.ledger import Entry, account
from service.domain.stock.traces import SHELF
from service.page import Page, number


async def levels_page(question: Question, wanted: Wanted, after: str | None, limit: int) -> Page:
    """List how much there is of each item at each site. Raises BadCursor."""
    named = names(question)

    async def lines(batch: Collection[Shelf]) -> list[Line]:
        found = await levels_of(question, batch)
        return [Line((one.shelf.key, one.unit), _level(question, one, named.get(one.item))) for one in found]

    return await page_of(question, wanted, [SHELF], lines, after, limit)


def _level(question: Question, one: Level, name: str | None) -> dict[str, object]:
    today = question.world.day(question.as_at, one.site)
    lots = [
        {
            "lot": lot.lot,
            "expires": lot.expires,
            "expired": lot.last_day is not None and lot.last_day < today,
            "quantity": lot.quantity,
        }
        for lot in one.lots
    ]
    return {
        "site": one.site,
        "item": one.item,
        "name": name,
        "unit": one.unit,
        "quantity": one.quantity,
        "lots": lots,
        "short": one.short or None,
        "oldest_expiry": lots[0]["expires"] if lots else None,
        "last_counted_at": one.counted_at,
    }


class Entries(msgspec.Struct, frozen=True, kw_only=True):
    """Which entries of a ledger: those that count in [since, until); None asks nothing."""

    shelf: Shelf
    since: datetime | None = None
    until: datetime | None = None

    def has(self, entry: Entry) -> bool:
        """Say whether an entry is one of them."""
        return (self.since is None or entry.at >= self.since) and (self.until is None or entry.at < self.until)


async def ledger_page(question: Question, wanted: Entries, after: str | None, limit: int) -> Page:
    """List entries of an item at a site, in the order they count. Raises BadCursor."""
    shelf = wanted.shelf
    known = await told(question, [shelf])
    rows = [one for one in account(known.changes[shelf]).entries if wanted.has(one)]
    first = number(after)
    return Page(
        items=[_entry(question, one, known.rows[one.event]) for one in rows[first : first + limit]],
        next=str(first + limit) if len(rows) > first + limit else None,
        about={"site": shelf.site, "item": shelf.item, "name": names(question).get(shelf.item), **question.about()},
    )


def _entry(question: Question, one: Entry, row: Recorded) -> dict[str, object]:
    """Show an entry; of what came from a site that the key does not read neither the event nor the site is named."""
    event = row.event
    is_read = question.reach is None or event.site is None or event.site in question.reach
    found = {"expected": one.expected, "found": one.quantity, "difference": one.change}
    return {
        "seq": row.seq,
        "event": event.id if is_read else None,
        "at": one.at,
        "what": one.what,
        "lot": one.lot,
        "expires": one.expires,
        "place": one.place,
        "from_site": event.site if one.what == "moved-in" and is_read else None,
        "to_site": event.to_site if isinstance(event, StockMoved) and one.what == "moved-out" else None,
        "unit": one.unit,
        "quantity": float(one.quantity),
        "change": float(one.change),
        "balance": float(one.balance),
        "short": float(one.short) or None,
        "explains": None if one.expected is None else {name: float(said or 0) for name, said in found.items()},
        "lots": [
            {
                "lot": share.lot,
                "expires": share.expires,
                "change": float(share.change),
                "balance": float(share.balance),
                "assumed": share.assumed,
            }
            for share in one.shares
        ],
    }
