"""Lines: what tells stock apart, as it is compared.

**Expiries.** Stock of two expiries is two lines. A lot that has one expiry on record at its site has it wherever none
is said; without a lot, stock of no expiry on record is a line of its own, since it may have any.

**Units.** Stock in two units is two lines: an item says how many a pack has, but no word says which unit is that pack,
so nothing is converted. C62, EA, H87 and each are one unit.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Final, NamedTuple

from service.domain.label import sorting
from service.domain.stock.changes import ONE, Change
from service.domain.words import expiry_day

ONES: Final = frozenset({ONE, "EA", "H87", "EACH"})
"""How a single piece is written: "one", "each" and "piece" of UN/ECE Recommendation 20, and the word itself."""

Lot = tuple[str, str, str]
"""Site, item and lot, as they are compared."""


class Line(NamedTuple):
    """What tells stock apart, as it is compared; "" where a lot or an expiry was not said."""

    site: str
    item: str
    lot: str
    expires: str
    unit: str


def line_of(change: Change) -> Line:
    """Give the line that a change speaks of, as it stands."""
    expires = "" if change.expires is None else expiry_day(change.expires).isoformat()
    return Line(*_lot(change), expires, unit_of(change.unit))


def unit_of(unit: str) -> str:
    """Give a unit as it is compared."""
    upper = unit.upper()
    return ONE if upper in ONES else upper


def is_alike(one: str | None, other: str | None) -> bool:
    """Say whether two units are one, as far as they are known; a single piece is written in several ways."""
    return one is None or other is None or unit_of(one) == unit_of(other)


def _lot(change: Change) -> Lot:
    return change.site, change.item, "" if change.lot is None else sorting(change.lot)


def with_expiries(changes: Iterable[Change]) -> list[Change]:
    """Give the changes, each with the expiry of its lot where it says none and the lot has one on record there."""
    every = list(changes)
    known = _expiries(every)
    return [_with_expiry(one, known) for one in every] if known else every


def _with_expiry(change: Change, known: Mapping[Lot, str]) -> Change:
    expires = known.get(_lot(change)) if change.expires is None else None
    return change if expires is None else change._replace(expires=expires)


def _expiries(changes: Iterable[Change]) -> dict[Lot, str]:
    found: dict[Lot, dict[date, str]] = defaultdict(dict)
    for change in changes:
        if change.lot is not None and change.expires is not None:
            said, day = found[_lot(change)], expiry_day(change.expires)
            said[day] = min(change.expires, said.get(day, change.expires))
    return {lot: next(iter(said.values())) for lot, said in found.items() if len(said) == 1}
