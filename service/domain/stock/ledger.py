"""The stock ledger of one item at one site: every change with the balance after it, and what is left.

Balances are told unit by unit, since nothing is converted, in the word by which a unit was first told. The books of a
unit are opened by the first event that tells of stock in it: what was fitted before is use, yet is taken off nothing. A
balance may lie below nothing: more was taken than was ever told of. The line that it was taken from stays below until
something comes that may have been it, or a count explains it. So the balance after an entry is that before it and the
change, always; of a count the change is what it found less what was expected.
"""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Final
from uuid import UUID

import msgspec

from service.domain.label import sorting
from service.domain.stock.by_book import by_book
from service.domain.stock.changes import Change, What, order
from service.domain.stock.keeping import Kept, Turn, keep
from service.domain.stock.lines import Line, unit_of
from service.domain.stock.shelf import NOTHING, total
from service.domain.words import expiry_day

FITTED: Final = "fitted"


class Share(msgspec.Struct, frozen=True):
    """What a change did to one line; `assumed` where the event did not say that it was this one."""

    lot: str | None
    expires: str | None
    change: Decimal
    balance: Decimal
    assumed: bool


class Entry(msgspec.Struct, frozen=True):
    """One change: what the event said, what that did to the balance of its unit, and to which lines.

    Of a count `expected` is what should have been found. `short` is how much of what was taken was not there.
    """

    at: datetime
    event: UUID
    nth: int
    what: What
    unit: str
    lot: str | None
    expires: str | None
    place: str | None
    quantity: Decimal
    change: Decimal
    balance: Decimal
    expected: Decimal | None
    short: Decimal
    shares: tuple[Share, ...]


class Left(msgspec.Struct, frozen=True):
    """What there is of a line, or how far it is below nothing; either has been so since an event at a moment."""

    lot: str | None
    expires: str | None
    unit: str
    quantity: Decimal
    since: datetime
    by: UUID


class Account(msgspec.Struct, frozen=True):
    """The ledger of an item at a site: its entries in order, and its lines, the oldest expiry first."""

    entries: tuple[Entry, ...]
    lines: tuple[Left, ...]


def account(told: Iterable[Change]) -> Account:
    """Fold the changes of one item at one site, in whatever order and however often they are told."""
    changes = _since_opened(set(told))
    lines: dict[Line, Kept] = {}
    units: dict[str, str] = {}
    balances: dict[str, Decimal] = {}
    turned: dict[Line, Change] = {}
    entries = []
    for change, turns in keep(changes, by_book(changes), lines):
        unit = unit_of(change.unit)
        entry = _entry(change, units.setdefault(unit, change.unit), turns, balances.get(unit, NOTHING))
        balances[unit] = entry.balance
        entries.append(entry)
        for turn in turns:
            if turn.line not in turned or (total(turn.after) > 0) != (total(turn.before) > 0):
                turned[turn.line] = change
            if not total(turn.after):
                del turned[turn.line]
    left = (_left(lines[line], units[line.unit], turned[line]) for line in sorted(lines, key=_turn))
    return Account(tuple(entries), tuple(left))


def _since_opened(changes: Iterable[Change]) -> list[Change]:
    """Leave out what was fitted before any stock of its unit was told of."""
    opened: set[str] = set()
    found = []
    for change in sorted(changes, key=order):
        if change.what != FITTED:
            opened.add(unit_of(change.unit))
        if unit_of(change.unit) in opened:
            found.append(change)
    return found


def _entry(change: Change, unit: str, turns: list[Turn], balance: Decimal) -> Entry:
    moved: dict[Line, Share] = {}
    short = NOTHING
    for part, line, before, after in turns:
        known = moved.get(line)
        so_far = NOTHING if known is None else known.change
        difference = total(after) - total(before)
        short += max(NOTHING, -total(after)) - max(NOTHING, -total(before))
        assumed = (part.lot, part.expires) != (change.lot, change.expires)
        moved[line] = Share(part.lot, part.expires, so_far + difference, total(after), assumed)
    difference = sum((one.change for one in moved.values()), NOTHING)
    return Entry(
        at=change.at,
        event=change.event,
        nth=change.nth,
        what=change.what,
        unit=unit,
        lot=change.lot,
        expires=change.expires,
        place=change.place,
        quantity=change.quantity,
        change=difference,
        balance=balance + difference,
        expected=change.quantity - difference if change.step == "count" else None,
        short=max(NOTHING, short) if change.step == "take" else NOTHING,
        shares=tuple(one for one in moved.values() if one.change),
    )


def _turn(line: Line) -> tuple[object, ...]:
    """Put the oldest expiry first, none last, of one expiry the lots in their order, none last."""
    return line.unit, not line.expires, line.expires, not line.lot, line.lot


def _left(kept: Kept, unit: str, since: Change) -> Left:
    said = kept.said
    return Left(
        lot=said.lot,
        expires=said.expires,
        unit=unit,
        quantity=total(kept.shelf),
        since=since.at,
        by=since.event,
    )


def name_of(line: Left) -> str:
    """Name a line among those of its shelf, the same however its lot and its unit were written."""
    lot = "" if line.lot is None else sorting(line.lot)
    expires = "" if line.expires is None else expiry_day(line.expires).isoformat()
    return f"{lot}/{expires}/{unit_of(line.unit)}"


def described(line: Left) -> str:
    """Describe a line in words: its lot, its expiry, and how much there is or is missing."""
    lot = "no lot" if line.lot is None else f"lot {line.lot}"
    expires = "" if line.expires is None else f" (good to {line.expires})"
    return f"{abs(float(line.quantity)):g} {line.unit} of {lot}{expires}"
