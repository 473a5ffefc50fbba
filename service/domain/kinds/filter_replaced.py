"""A filter was changed."""

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


class FilterReplaced(AssetEvent, frozen=True, kw_only=True):
    """One filter out, one in, at one position."""

    example: ClassVar[dict[str, Any]] = sample(
        "filter-replaced",
        {
            "asset": "FX-0142",
            "position": "particle-filter",
            "in": {
                "item": "pf-170",
                "lot": "L2411",
                "serial": "PF-93",
                "expires": "2029-05-31",
                "opened_on": "2026-03-02",
                "condition": "new",
            },
            "out": {"item": "pf-170", "lot": "L2409", "serial": "PF-88"},
            "reason": "loading",
        },
    )

    position: Ref
    in_: Part = field(name="in")
    out: RemovedPart | None = None
    reason: ReplacementReason

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Fit the new filter."""
        return fit(unit, self.position, self.in_, fact, world, out=self.out)
