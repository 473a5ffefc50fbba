"""Orders: the book of what became of proposals, as of a moment and as known.

The events about orders lie together in the index, by proposal and by order, so that all of them are read at once: a
firm has a few for each order. Whose a proposal is can only be told by its name, so that the pairs of site and item are
gone through.
"""

from collections.abc import Collection, Iterator
from typing import Final

from service.assessing.moment import Question
from service.assessing.taken_back import taken_back
from service.domain.kinds.item_defined import ItemDefined
from service.domain.ordering.book import Book, book_of
from service.store.events_between_subjects import events_between_subjects

ABOUT_ORDERS: Final = [(("order:", "proposal:"), "", None)]
"""How the subjects begin that the events about orders are filed under."""


async def orders(question: Question, sites: Collection[str] | None, wanted: Collection[str] = ()) -> Book:
    """Fold what is known of orders, of `wanted` proposals too; needs of these sites alone (None: all) may be named.

    They are found of every site all the same, since an act counts only where its key reaches the need's.
    """
    rows = await events_between_subjects(
        question.conn, question.organisation, ABOUT_ORDERS, until_seq=question.judged_to
    )
    gone = await taken_back(question, rows)
    return book_of(rows, gone, question.world, question.as_at, _pairs(question, question.sites), wanted, sites)


def _pairs(question: Question, sites: Collection[str]) -> Iterator[tuple[str, str]]:
    """Give every site with every item that was ever defined, those taken back too: orders may be on their way."""
    items = sorted(items_of(question))
    return ((site, item) for site in sorted(sites) for item in items)


def items_of(question: Question) -> set[str]:
    """Name the items that were ever defined."""
    rows = (row.event for row in question.known.rows if row.seq <= question.judged_to)
    return {event.item for event in rows if isinstance(event, ItemDefined)}
