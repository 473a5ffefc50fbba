"""A unit is handed out."""

from typing import TYPE_CHECKING, Any, ClassVar

from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.custody import hand_over, out_of_use
from service.domain.event import AssetEvent
from service.domain.holder import Holder
from service.domain.sample import sample
from service.domain.unit import Dated
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Issued(AssetEvent, frozen=True, kw_only=True):
    """The holder has the unit from now on."""

    wants_ready: ClassVar[bool] = True
    after_retirement: ClassVar[str] = "issued-while-retired"
    example: ClassVar[dict[str, Any]] = sample(
        "issued", {"asset": "FX-0142", "holder": {"person": "p-3071"}, "task": "hull-welding"}
    )

    holder: Holder
    task: Ref | None = None

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Give the unit to the holder."""
        return hand_over(unit, self.holder, self.site, Dated(fact.at, world.day_of(fact, unit), self.id))

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when it was out of use."""
        return out_of_use(unit, "issued")
