"""A shelf: how much there is of one sort of stock at a site, place by place.

Each place is counted by itself; a count without a place is of the whole site. What came without a place is looked for
in no place: a count that finds more in one than was known there found some of it. What was taken from no place in
particular comes off the whole until a place is counted: then it is what that count misses, then comes off what has no
place, and what is left of it is forgotten, since it may have been told of stock that was never on record. So nothing
falls below zero, and what may still be there counts as there.
"""

from collections.abc import Mapping

import msgspec


class Shelf(msgspec.Struct, frozen=True):
    """What lies in places, what has none, and what was taken from no place in particular."""

    placed: Mapping[str, float] = {}
    loose: float = 0.0
    owed: float = 0.0


def total(shelf: Shelf) -> float:
    """Give how much there is of it at the site."""
    return sum(shelf.placed.values()) + shelf.loose - shelf.owed


def put(shelf: Shelf, place: str | None, quantity: float) -> Shelf:
    """Add what came."""
    if place is None:
        return Shelf(shelf.placed, shelf.loose + quantity, shelf.owed)
    return _with(shelf, place, shelf.placed.get(place, 0.0) + quantity)


def take(shelf: Shelf, place: str | None, quantity: float) -> Shelf:
    """Take off what went: what its place did not have had no place before."""
    if place is None:
        return _bounded(shelf, shelf.owed + quantity)
    there = shelf.placed.get(place, 0.0)
    rest = max(0.0, quantity - there)
    left = _with(shelf, place, there - (quantity - rest))
    return _bounded(Shelf(left.placed, max(0.0, left.loose - rest)), left.owed)


def count(shelf: Shelf, place: str | None, quantity: float) -> Shelf:
    """Tell what was found, in a place or in all of the site."""
    if place is None:
        return Shelf(loose=quantity)
    more = quantity - shelf.placed.get(place, 0.0)
    missed, found = max(0.0, -more), max(0.0, more)
    loose = shelf.loose - max(0.0, shelf.owed - missed) - found
    return _with(Shelf(shelf.placed, max(0.0, loose)), place, quantity)


def _with(shelf: Shelf, place: str, quantity: float) -> Shelf:
    return Shelf({**shelf.placed, place: quantity}, shelf.loose, shelf.owed)


def _bounded(shelf: Shelf, owed: float) -> Shelf:
    """Let no more be owed than there is."""
    return Shelf(shelf.placed, shelf.loose, min(owed, sum(shelf.placed.values()) + shelf.loose))
