"""A part of any position was changed."""

from typing import TYPE_CHECKING, Any, ClassVar

from msgspec import field
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.fitting import fit
from service.domain.part import Part, RemovedPart, ReplacementReason
from service.domain.sample import sample
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class PartReplaced(AssetEvent, frozen=True, kw_only=True):
    """One part out, one in; without `in` the position is emptied."""

    example: ClassVar[dict[str, Any]] = sample(
        "part-replaced",
        {
            "asset": "FX-0142",
            "position": "battery",
            "in": {
                "item": "bat-64",
                "lot": "B25-11",
                "serial": "BT-2041",
                "expires": "2030-01",
                "opened_on": "2025-11-20",
                "condition": "refitted",
            },
            "out": {"item": "bat-64", "lot": "B25-07", "serial": "BT-1988"},
            "reason": "schedule",
        },
    )

    position: Ref
    in_: Part | None = field(name="in", default=None)
    out: RemovedPart | None = None
    reason: ReplacementReason

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Fit the new part, or leave the position empty."""
        return fit(unit, self.position, self.in_, fact, world, out=self.out)
