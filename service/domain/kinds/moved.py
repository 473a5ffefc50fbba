"""A unit leaves for another site."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref


class Moved(AssetEvent, frozen=True, kw_only=True):
    """The unit is in transit until it is received."""

    example: ClassVar[dict[str, Any]] = sample("moved", {"asset": "FX-0142", "to_site": "tern-yard"})

    to_site: Ref
