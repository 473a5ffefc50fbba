"""Lines: what was ordered, and what has come of it.

A receipt belongs to the line that it names, where that is of its item and unit, and of several of that name to those of
its site; else to the lines of its item and unit for its own site, and fills them one after the other; of what another
site ordered it fills nothing. What comes beyond all of them stays with the last. A receipt of another item or unit than
was ordered fills nothing, since no word says how many of one are one of the other.
"""

from collections.abc import Iterable, Sequence
from uuid import UUID

import msgspec

from service.domain.kinds.stock_received import StockReceived
from service.domain.stock.lines import is_alike

ONLY_LINE = "1"
"""What the line of an order is called that says none."""
DIGITS = 9
"""Decimals of a quantity that count, so that three times 0.1 are 0.3."""


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """One line of an order for a site: what was ordered and what has come, in its unit.

    `ordered` is None where nobody said how much, `unit` where nobody said in what; `alien` says that it is another unit
    than the item is counted in. `came` are the receipts with what each brought of it; `arriving` is what came on a day
    that is not over, so that it is not received yet.
    """

    line: str | None
    site: str | None
    item: str
    unit: str | None
    ordered: float | None
    price: str | None = None
    currency: str | None = None
    received: float = 0.0
    came: tuple[tuple[UUID, float], ...] = ()
    alien: bool = False
    arriving: float = 0.0

    @property
    def outstanding(self) -> float:
        """Give what is still to come, if the order goes on."""
        return max(0.0, round((self.ordered or 0.0) - self.received, DIGITS))


def summed(quantities: Iterable[float]) -> float:
    """Add up quantities, to as many decimals as count."""
    return round(sum(quantities), DIGITS)


def delivered(lines: Sequence[Line], receipts: Iterable[StockReceived]) -> tuple[Line, ...]:
    """Give the lines of one order with what has come of each, from receipts in the order of the fold."""
    told = list(lines)
    naming: list[tuple[StockReceived, list[int]]] = []
    others: list[tuple[StockReceived, list[int]]] = []
    for receipt in receipts:
        named = [nth for nth in _alike(told, receipt) if receipt.line is not None and told[nth].line == receipt.line]
        (naming if named else others).append((receipt, named))
    for receipt, named in (*naming, *others):
        theirs = _of_site(told, _alike(told, receipt), receipt)
        _fill(told, _of_site(told, named, receipt) or named or theirs, receipt)
    return tuple(told)


def with_arriving(lines: Sequence[Line], receipts: Iterable[StockReceived]) -> tuple[Line, ...]:
    """Give the lines of one order with what receipts of a day that is not over bring of each."""
    then = delivered(lines, receipts)
    return tuple(
        msgspec.structs.replace(line, arriving=summed((more.received, -line.received)))
        for line, more in zip(lines, then, strict=True)
    )


def is_for(line: Line, receipt: StockReceived) -> bool:
    """Say whether a line is for the site of a receipt, or the one that it names, whatever came."""
    return line.site in {None, receipt.site} or (receipt.line is not None and receipt.line == line.line)


def _alike(lines: Sequence[Line], receipt: StockReceived) -> list[int]:
    return [nth for nth, line in enumerate(lines) if line.item == receipt.item and is_alike(line.unit, receipt.unit)]


def _of_site(lines: Sequence[Line], places: Sequence[int], receipt: StockReceived) -> list[int]:
    return [nth for nth in places if lines[nth].site in {None, receipt.site}]


def _fill(lines: list[Line], places: Sequence[int], receipt: StockReceived) -> None:
    """Spread what came over lines, in place."""
    left = receipt.quantity
    for nth in places:
        line = lines[nth]
        more = left if nth == places[-1] else min(left, line.outstanding)
        came = (*line.came, *([(receipt.id, more)] if more else []))
        lines[nth] = msgspec.structs.replace(line, received=summed((line.received, more)), came=came)
        left = round(left - more, DIGITS)
