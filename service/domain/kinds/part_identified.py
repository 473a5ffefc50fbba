"""What sits in a position becomes known."""

from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.fitting import identify
from service.domain.part import Part
from service.domain.sample import sample
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class PartIdentified(AssetEvent, frozen=True, kw_only=True):
    """Someone looked: this part is fitted there. Nothing was changed."""

    example: ClassVar[dict[str, Any]] = sample(
        "part-identified",
        {
            "asset": "FX-0142",
            "position": "breathing-tube",
            "part": {
                "item": "tube-9",
                "lot": "T2502",
                "serial": "TB-310",
                "expires": "2031-12",
                "opened_on": "2025-10-05",
                "condition": "refitted",
            },
        },
    )

    position: Ref
    part: Part

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Know what is fitted; nothing was changed. A recall that turns out not to bear on it is cleared (R25)."""
        known = identify(unit, self.position, self.part, fact, world)
        before, still = (set(world.openings_on(one, fact.at).values()) for one in (unit, known))
        cleared = dict.fromkeys(sorted(before - still), fact.at)
        return replace(known, remedied={**known.remedied, **cleared}) if cleared else known
