"""Stock is counted."""

from typing import Any, ClassVar

from service.domain.event import StockEvent
from service.domain.sample import sample
from service.domain.words import Ref


class StockCounted(StockEvent, frozen=True, kw_only=True):
    """What was there when someone counted."""

    example: ClassVar[dict[str, Any]] = sample(
        "stock-counted",
        {
            "site": "harrow-dock",
            "item": "pf-170",
            "quantity": 38.0,
            "unit": "C62",
            "lot": "L2411",
            "expires": "2029-05",
            "place": "store-a",
        },
    )

    place: Ref | None = None
