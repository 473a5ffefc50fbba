"""A unit is put at an emergency or standby point."""

from typing import TYPE_CHECKING, Any, ClassVar

from typing_extensions import override

from service.domain.custody import station
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.unit import Dated
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Stationed(AssetEvent, frozen=True, kw_only=True):
    """The unit stands ready at a place; it is judged as emergency use (R50)."""

    example: ClassVar[dict[str, Any]] = sample("stationed", {"asset": "FX-0142", "place": "cabinet-4"})

    place: Ref

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Put the unit at its point, where it counts as in use."""
        return station(unit, self.place, self.site, Dated(fact.at, world.day_of(fact, unit), self.id))
