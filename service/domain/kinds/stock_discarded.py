"""Stock is thrown away."""

from typing import Any, ClassVar

from service.domain.event import StockEvent
from service.domain.sample import sample
from service.domain.words import Reason, Ref


class StockDiscarded(StockEvent, frozen=True, kw_only=True):
    """A quantity that will not be fitted, and why."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "stock-discarded",
        {
            "site": "harrow-dock",
            "item": "pf-170",
            "quantity": 2.0,
            "unit": "C62",
            "lot": "L2411",
            "expires": "2029-05",
            "place": "store-a",
            "reason": "box was wet",
        },
    )

    place: Ref | None = None
    reason: Reason
