"""A unit leaves for another site."""

from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.custody import arrive
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Moved(AssetEvent, frozen=True, kw_only=True):
    """The unit is in transit until it is received."""

    example: ClassVar[dict[str, Any]] = sample("moved", {"asset": "FX-0142", "to_site": "tern-yard"})

    to_site: Ref

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Send the unit on its way; it counts with the old site until received."""
        return replace(arrive(unit, fact.at), moved_to=self.to_site)
