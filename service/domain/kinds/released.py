"""A unit may be used again."""

from typing import Any, ClassVar
from uuid import UUID

from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample


class Released(AssetEvent, frozen=True, kw_only=True):
    """Ends a quarantine, if every reason held has its ground (R25).

    `voiding` names the `voided` event that the release rests on (R26).
    """

    example: ClassVar[dict[str, Any]] = sample(
        "released", {"asset": "FX-0142", "voiding": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c09"}
    )

    voiding: UUID | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit and the voiding."""
        return (*super().subjects(), *([f"event:{self.voiding}"] if self.voiding else ()))
