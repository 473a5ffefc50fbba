"""A unit goes to a workshop."""

from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.custody import arrive
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Label, Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class SentToService(AssetEvent, frozen=True, kw_only=True):
    """The unit is at `provider` until it is received, returned, issued or stationed (R42)."""

    example: ClassVar[dict[str, Any]] = sample(
        "sent-to-service", {"asset": "FX-0142", "provider": "workshop-1", "reference": "job 2026/118"}
    )

    provider: Ref
    reference: Label | None = None

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Send the unit away."""
        return replace(arrive(unit, fact.at), at_service=self.provider)
