"""Unmeetable: criteria that no lot or serial number meets, since what they name lies outside the rest of what they say.

All values of one criterion must match (R34). Who copies a notice of "lots A1, A2 and B10 to B20" into one criterion
instead of two names nothing by it, and would be told that nothing is affected.
"""

from collections.abc import Collection

from service.domain.kinds.recall_opened import Criterion
from service.domain.label import is_among, lies_between


def unmeetable(criterion: Criterion) -> bool:
    """Say whether no label whatever meets a criterion."""
    lots = criterion.lots if criterion.lot is None else (criterion.lot,)
    beside = criterion.lots if criterion.lot is not None else ()
    return _none(lots, beside, criterion.lot_from, criterion.lot_to) or _none(
        criterion.serials, (), criterion.serial_from, criterion.serial_to
    )


def _none(named: Collection[str], beside: tuple[str, ...], first: str | None, last: str | None) -> bool:
    """Say whether labels are named of which none is among the others, if there are any, and in the range."""
    return bool(named) and not any(
        lies_between(label, first, last) and (not beside or is_among(label, beside)) for label in named
    )
