"""A unit was repaired."""

from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from msgspec import Meta
from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.fitting import fit
from service.domain.part import PlacedParts
from service.domain.sample import sample
from service.domain.words import MANY, Ref, Refs

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Repaired(AssetEvent, frozen=True, kw_only=True):
    """Which points were put right, by what work (the firm's own codes), with which parts."""

    example: ClassVar[dict[str, Any]] = sample(
        "repaired",
        {
            "asset": "FX-0142",
            "points": ["airflow"],
            "work": ["fan-replaced", "seal-replaced"],
            "parts": [
                {
                    "position": "fan",
                    "part": {
                        "item": "fan-3",
                        "lot": "F2501",
                        "serial": "FN-77",
                        "expires": "2032-06",
                        "opened_on": "2026-03-02",
                        "condition": "new",
                    },
                }
            ],
        },
    )

    points: Refs = ()
    work: Annotated[tuple[Ref, ...], Meta(min_length=1, max_length=MANY)]
    parts: PlacedParts = ()

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Note the repair, if a competent person did it; believe the parts in any case."""
        for placed in self.parts:
            unit = fit(unit, placed.position, placed.part, fact, world)
        repaired = unit.repaired
        if world.may("repair", fact, unit) and fact.at not in repaired:
            repaired = (*repaired, fact.at)[-2:]
        return replace(unit, repaired=repaired, cover=None)

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when the person had no competence to repair."""
        return () if world.may("repair", fact, unit) else (Conflict("unknown-competence", ("repair",)),)
