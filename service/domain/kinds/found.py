"""A missing unit turns up."""

from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.custody import arrive
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.unit import Cause
from service.domain.withdrawal import hold
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Found(AssetEvent, frozen=True, kw_only=True):
    """The unit is there again, and in quarantine until it is examined (design 3.4)."""

    example: ClassVar[dict[str, Any]] = sample("found", {"asset": "FX-0142", "place": "store-a"})

    place: Ref | None = None

    @override
    def handles(self) -> bool:
        """Say no: that it was found is all it says, once."""
        return False

    @override
    def shows_site(self) -> bool:
        """Say yes: it was found there."""
        return True

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Put the unit aside until it is examined."""
        here = replace(arrive(unit, fact.at, self.site, self.place), missing=False)
        return hold(here, Cause("found", fact.at, self.id))
