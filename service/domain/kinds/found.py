"""A missing unit turns up."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref


class Found(AssetEvent, frozen=True, kw_only=True):
    """The unit is there again, and in quarantine until it is examined (design 3.4)."""

    example: ClassVar[dict[str, Any]] = sample("found", {"asset": "FX-0142", "place": "store-a"})

    place: Ref | None = None
