"""How many of which lot a line counts. UBL says of a line which lots it has, and not how many of each."""

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from service.domain.value import FieldError
from service.outbound.ubl.parts import Instance


class Portion(NamedTuple):
    """So many of one lot and expiry; the expiry is a day, as events have it."""

    quantity: float
    lot: str | None = None
    expires: str | None = None


def portions(quantity: Decimal, instances: Sequence[Instance]) -> list[Portion]:
    """Divide a quantity by lot: one has all of it; where each piece is named, each counts one. Else FieldError."""
    lots = Counter((one.lot, one.expires.isoformat() if one.expires else None) for one in instances)
    serials = {one.serial for one in instances} - {None}
    if not quantity:
        return []
    if len(lots) > 1 and not len(serials) == len(instances) == quantity:
        raise FieldError("item/instances", "names several lots, and not how many of each: send a line for each lot")
    if len(lots) > 1:
        return [Portion(float(count), *lot) for lot, count in lots.items()]
    return [Portion(float(quantity), *lot) for lot in lots or [(None, None)]]
