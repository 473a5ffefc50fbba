"""A shelf: how much there is of one line of stock at a site, place by place.

Each place is counted by itself; a count without a place is of the whole site. What came without a place is looked for
in no place: a count that finds more in one than was known there found some of it. What was taken from no place in
particular comes off the whole until a place is counted: then it is what that count misses, then comes off what has no
place, and what is left of it is forgotten, since it may have been told of stock that was never on record.

What is taken beyond what there is leaves nothing. How much that was, and how much a count forgets, is told, and a
reading may have it owed on: then the total may be below nothing until more comes or somebody counts.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

import msgspec
from msgspec.structs import replace

NOTHING: Final = Decimal(0)


class Shelf(msgspec.Struct, frozen=True):
    """What lies in places, what has none, and what was taken from no place in particular.

    `counted` are the places counted since something was last taken so.
    """

    placed: Mapping[str, Decimal] = {}
    loose: Decimal = NOTHING
    owed: Decimal = NOTHING
    counted: frozenset[str] = frozenset()


EMPTY: Final = Shelf()


def total(shelf: Shelf) -> Decimal:
    """Give how much there is of it at the site."""
    return _lying(shelf) - shelf.owed


def put(shelf: Shelf, place: str | None, quantity: Decimal) -> Shelf:
    """Add what came."""
    if place is None:
        return replace(shelf, loose=shelf.loose + quantity)
    return _with(shelf, place, shelf.placed.get(place, NOTHING) + quantity)


def take(shelf: Shelf, place: str | None, quantity: Decimal) -> tuple[Shelf, Decimal]:
    """Take off what went, and tell how much of it was not there: what its place did not have had no place before."""
    if place is None:
        owed = min(shelf.owed + quantity, _lying(shelf))
        return replace(shelf, owed=owed, counted=frozenset()), quantity - (owed - shelf.owed)
    there = shelf.placed.get(place, NOTHING)
    rest = max(NOTHING, quantity - there)
    left = _with(shelf, place, there - (quantity - rest))
    left = replace(left, loose=max(NOTHING, left.loose - rest))
    left = replace(left, owed=min(left.owed, _lying(left)))
    return left, quantity - (total(shelf) - total(left))


def count(shelf: Shelf, place: str | None, quantity: Decimal) -> tuple[Shelf, Decimal]:
    """Tell what was found, in a place or in all of the site, and how much of what was owed that forgets."""
    if place is None:
        return Shelf(loose=quantity), NOTHING
    more = quantity - shelf.placed.get(place, NOTHING)
    rest = max(NOTHING, shelf.owed - max(NOTHING, -more))
    gone = min(rest, shelf.loose)
    loose = max(NOTHING, shelf.loose - gone - max(NOTHING, more))
    left = replace(shelf, loose=loose, owed=NOTHING, counted=shelf.counted | {place})
    return _with(left, place, quantity), rest - gone


def owing(shelf: Shelf, quantity: Decimal) -> Shelf:
    """Have it owe what was taken and was not there."""
    return replace(shelf, owed=shelf.owed + quantity)


def owing_on(shelf: Shelf, quantity: Decimal) -> Shelf:
    """Have it owe on what a count did not explain, as far as that may be gone from places not counted since."""
    return owing(shelf, min(quantity, sum((shelf.placed[one] for one in shelf.placed.keys() - shelf.counted), NOTHING)))


def _lying(shelf: Shelf) -> Decimal:
    return sum(shelf.placed.values(), NOTHING) + shelf.loose


def _with(shelf: Shelf, place: str, quantity: Decimal) -> Shelf:
    return replace(shelf, placed={**shelf.placed, place: quantity})
