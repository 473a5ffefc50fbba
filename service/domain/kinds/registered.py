"""A unit enters the firm's records."""

from datetime import date
from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.part import PlacedParts
from service.domain.sample import sample
from service.domain.words import Label, Ref, Tag, Use


class Registered(AssetEvent, frozen=True, kw_only=True):
    """A unit is known from now on by this tag. With `fitted_to` it is a component of another unit (R51)."""

    example: ClassVar[dict[str, Any]] = sample(
        "registered",
        {
            "asset": "FX-0142",
            "model": "northwind-2",
            "serial": "NW2-004417",
            "site": "harrow-dock",
            "size": "M",
            "use": "routine",
            "made_on": "2025-06-11",
            "acquired_on": "2025-09-01",
            "fitted_to": "FX-0140",
            "parts": [
                {
                    "position": "particle-filter",
                    "part": {
                        "item": "pf-170",
                        "lot": "L2409",
                        "serial": "PF-88",
                        "expires": "2029-03",
                        "opened_on": "2026-03-01",
                        "condition": "new",
                    },
                }
            ],
        },
    )

    model: Ref
    serial: Label
    site: Ref
    size: Label | None = None
    use: Use | None = None
    made_on: date | None = None
    acquired_on: date | None = None
    fitted_to: Tag | None = None
    parts: PlacedParts = ()

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit and the one it is fitted to."""
        return (*super().subjects(), *([f"asset:{self.fitted_to}"] if self.fitted_to else ()))
