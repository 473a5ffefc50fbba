"""A unit goes to a workshop."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Label, Ref


class SentToService(AssetEvent, frozen=True, kw_only=True):
    """The unit is at `provider` until it is received, returned, issued or stationed (R42)."""

    example: ClassVar[dict[str, Any]] = sample(
        "sent-to-service", {"asset": "FX-0142", "provider": "workshop-1", "reference": "job 2026/118"}
    )

    provider: Ref
    reference: Label | None = None
