"""A unit arrives at a site."""

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


class Received(AssetEvent, frozen=True, kw_only=True):
    """The unit is in store at `site` from now on."""

    example: ClassVar[dict[str, Any]] = sample("received", {"asset": "FX-0142", "site": "tern-yard"})

    site: Ref

    @override
    def shows_site(self) -> bool:
        """Say no: it comes from elsewhere."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Take the unit in at the site."""
        return arrive(unit, fact.at, self.site)

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when it was not on its way."""
        return () if is_away(unit) else (Conflict("received-without-move"),)
