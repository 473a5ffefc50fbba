"""Stock goes to another site."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import StockEvent
from service.domain.sample import sample
from service.domain.words import Ref


class StockMoved(StockEvent, frozen=True, kw_only=True):
    """A quantity leaves `site` for `to_site`."""

    example: ClassVar[dict[str, Any]] = sample(
        "stock-moved",
        {
            "site": "harrow-dock",
            "to_site": "tern-yard",
            "item": "pf-170",
            "quantity": 12.0,
            "unit": "C62",
            "lot": "L2411",
            "expires": "2029-05",
        },
    )

    to_site: Ref

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the item and both sites."""
        return (*super().subjects(), f"site:{self.to_site}")
