"""Likeness: which lines of stock a change may speak of where it leaves something unsaid, and which comes first."""

from collections.abc import Iterable
from datetime import UTC, date
from decimal import Decimal

from service.domain.label import same, sorting
from service.domain.stock.changes import Change
from service.domain.stock.keeping import Kept, Lines
from service.domain.stock.lines import unit_of
from service.domain.words import expiry_day


def alike(change: Change, lines: Lines) -> list[Kept]:
    """Give the lines that a change may speak of, in their turn."""
    return sorted((one for one in lines.values() if _may_be(change, one.said)), key=lambda one: _turn(change, one))


def _may_be(change: Change, said: Change) -> bool:
    """Say whether nothing that is stated of both differs."""
    if (change.site, change.item, unit_of(change.unit)) != (said.site, said.item, unit_of(said.unit)):
        return False
    if change.lot is not None and said.lot is not None and not same(change.lot, said.lot):
        return False
    return None in {change.expires, said.expires} or _day(change) == _day(said)


def is_of(said: Change, stated: Change) -> bool:
    """Say whether whatever is stated is on record of a line."""
    lot = stated.lot is None or (said.lot is not None and same(said.lot, stated.lot))
    return lot and (stated.expires is None or (said.expires is not None and _day(said) == _day(stated)))


def _day(change: Change) -> date:
    return date.max if change.expires is None else expiry_day(change.expires)


def _turn(change: Change, kept: Kept) -> tuple[object, ...]:
    """Put the lot and the place stated before others, then the oldest expiry, no expiry last, then by lot (R34).

    What had expired, by the day at its site (in UTC where that is not known), is fitted last of all: nobody would take
    it while there is other.
    """
    said = kept.said
    expired = change.what == "fitted" and _day(said) < (change.day or change.at.astimezone(UTC).date())
    untold = change.lot is not None and said.lot is None
    elsewhere = change.place is not None and not kept.shelf.placed.get(change.place)
    return untold, elsewhere, expired, _day(said), said.lot is None, "" if said.lot is None else sorting(said.lot)


def part_of(change: Change, kept: Kept, quantity: Decimal) -> Change:
    """Give so much of a change as what it is for a line."""
    return change._replace(lot=kept.said.lot, expires=kept.said.expires, quantity=quantity)


def in_turn(change: Change, shares: Iterable[tuple[Kept, Decimal]]) -> list[Change]:
    """Give a change line by line, as far as each has room for it; the rest is of the line that it states."""
    rest, parts = change.quantity, []
    for kept, room in shares:
        much = min(rest, room)
        if much > 0:
            parts.append(part_of(change, kept, much))
            rest -= much
    if rest:
        parts.append(change._replace(quantity=rest))
    return parts
