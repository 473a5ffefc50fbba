"""A unit is taken out of use."""

from typing import TYPE_CHECKING, Any, ClassVar, Literal

from typing_extensions import override

from service.domain.custody import put_in_store
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.unit import Cause
from service.domain.withdrawal import hold
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


QuarantineReason = Literal["failed", "damage", "contamination", "suspect", "recall", "overdue", "other"]


class Quarantined(AssetEvent, frozen=True, kw_only=True):
    """Nobody may use the unit; with `place` it is put away there (design 3.5)."""

    example: ClassVar[dict[str, Any]] = sample(
        "quarantined", {"asset": "FX-0142", "reason": "recall", "place": "cage-1", "recall": "rc-2026-01"}
    )

    reason: QuarantineReason
    place: Ref | None = None
    recall: Ref | None = None

    @override
    def adverse(self) -> bool:
        """Say yes: a withdrawal is bad news."""
        return True

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit and the recall."""
        return (*super().subjects(), *([f"recall:{self.recall}"] if self.recall else ()))

    @override
    def handles(self) -> bool:
        """Say whether it was put away, not only ordered."""
        return self.place is not None

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Withdraw the unit; with a place it is put away there."""
        if self.place is not None and not fact.echo:
            unit = put_in_store(unit, fact.at, self.place)
        return hold(unit, Cause(self.reason, fact.at, self.id, self.recall))

    def stops_for(self, recall: str) -> bool:
        """Say whether it withdraws the unit for a recall: one that names it and gives another reason does not."""
        return (self.reason, self.recall) == ("recall", recall)
