"""A unit cannot be found."""

from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.custody import end_use
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Missing(AssetEvent, frozen=True, kw_only=True):
    """Nobody knows where the unit is."""

    example: ClassVar[dict[str, Any]] = sample("missing", {"asset": "FX-0142", "last_place": "store-a"})

    last_place: Ref | None = None

    @override
    def adverse(self) -> bool:
        """Say yes: a lost unit is bad news."""
        return True

    @override
    def handles(self) -> bool:
        """Say no: nobody needs the unit for that."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Count the unit as lost until it is found or seen."""
        left = replace(end_use(unit), missing=True)
        return left if fact.echo else replace(left, place=self.last_place)
