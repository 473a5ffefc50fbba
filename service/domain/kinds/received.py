"""A unit arrives at a site."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref


class Received(AssetEvent, frozen=True, kw_only=True):
    """The unit is in store at `site` from now on."""

    example: ClassVar[dict[str, Any]] = sample("received", {"asset": "FX-0142", "site": "tern-yard"})

    site: Ref
