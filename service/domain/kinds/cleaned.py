"""A unit or a part was cleaned."""

from typing import TYPE_CHECKING, Any, ClassVar, Literal

from msgspec.structs import replace
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


Method = Literal["wiped", "washed", "disinfected", "brushed", "compressed-air", "knocked-out", "other"]


class Cleaned(AssetEvent, frozen=True, kw_only=True):
    """How the whole unit or the part at `position` was cleaned."""

    example: ClassVar[dict[str, Any]] = sample(
        "cleaned", {"asset": "FX-0142", "scope": "part", "position": "spark-arrestor", "method": "brushed"}
    )

    scope: Literal["unit", "part"]
    position: Ref | None = None
    method: Method

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """End the cover of the last check; clean as a whole, the unit is fit for any wearer."""
        if self.scope == "part":
            return replace(unit, cover=None)
        return replace(unit, cover=None, soiled_by=None, cleaning_owed=None)
