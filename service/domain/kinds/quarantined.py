"""A unit is taken out of use."""

from typing import Any, ClassVar, Literal

from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref

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
