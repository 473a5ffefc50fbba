"""Lateness: what is still counted as on its way though the day that it was expected is over.

It counts until it has come or was called off, since nobody orders a second time what may arrive tomorrow; so wherever
it counts it is told, with the day since which it has been late. What no day was said of is waited for as long as its
lead time lasts, and does not count after that (`domain/ordering/waiting.py`).
"""

from collections.abc import Iterable, Iterator
from datetime import date

import msgspec

from service.assessing.shelves import Shelf
from service.domain.ordering.book import Book
from service.domain.ordering.lines import DIGITS
from service.domain.ordering.order import Order


class Late(msgspec.Struct, frozen=True):
    """So much of what is on its way is late, the first of it since a day was over."""

    quantity: float
    since: date


def late_at(book: Book, shelf: Shelf) -> Late | None:
    """Give what is late of an item at a site; None for nothing."""
    found = list(_late(book, shelf))
    if not found:
        return None
    return Late(round(sum(one.quantity for one in found), DIGITS), min(one.since for one in found))


def _late(book: Book, shelf: Shelf) -> Iterator[Late]:
    for order in _overdue(book):
        lines = [one for one in order.outstanding if (one.site, one.item) == shelf and not one.alien]
        quantity = sum(one.outstanding for one in lines)
        if quantity:
            yield Late(quantity, book.waiting.due_on(order))


def _overdue(book: Book) -> Iterable[Order]:
    """Give the orders of a day that is over; of those without one that is over nothing counts any more."""
    orders = (order for told in book.orders.values() for order in told if order.expected_on is not None)
    return (order for order in orders if book.waiting.over_at(order) is not None)
