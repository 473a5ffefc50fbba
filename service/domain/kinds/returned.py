"""A unit comes back into store."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref


class Returned(AssetEvent, frozen=True, kw_only=True):
    """Nobody holds the unit from now on."""

    example: ClassVar[dict[str, Any]] = sample("returned", {"asset": "FX-0142", "place": "store-a"})

    place: Ref | None = None
