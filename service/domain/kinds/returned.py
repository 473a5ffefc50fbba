"""A unit comes back into store."""

from typing import TYPE_CHECKING, Any, ClassVar

from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.custody import arrive, is_away
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Returned(AssetEvent, frozen=True, kw_only=True):
    """Nobody holds the unit from now on."""

    example: ClassVar[dict[str, Any]] = sample("returned", {"asset": "FX-0142", "place": "store-a"})

    place: Ref | None = None

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Put the unit into store."""
        return arrive(unit, fact.at, self.site, self.place)

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when nobody had it."""
        nobody = unit.where == "in-store" and not is_away(unit)
        return (Conflict("returned-without-holder"),) if nobody else ()
