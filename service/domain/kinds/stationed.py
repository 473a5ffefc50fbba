"""A unit is put at an emergency or standby point."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref


class Stationed(AssetEvent, frozen=True, kw_only=True):
    """The unit stands ready at a place; it is judged as emergency use (R50)."""

    example: ClassVar[dict[str, Any]] = sample("stationed", {"asset": "FX-0142", "place": "cabinet-4"})

    place: Ref
