"""A unit cannot be found."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref


class Missing(AssetEvent, frozen=True, kw_only=True):
    """Nobody knows where the unit is."""

    example: ClassVar[dict[str, Any]] = sample("missing", {"asset": "FX-0142", "last_place": "store-a"})

    last_place: Ref | None = None

    @override
    def adverse(self) -> bool:
        """Say yes: a lost unit is bad news."""
        return True
