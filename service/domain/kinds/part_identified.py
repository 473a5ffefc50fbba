"""What sits in a position becomes known."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.part import Part
from service.domain.sample import sample
from service.domain.words import Ref


class PartIdentified(AssetEvent, frozen=True, kw_only=True):
    """Someone looked: this part is fitted there. Nothing was changed."""

    example: ClassVar[dict[str, Any]] = sample(
        "part-identified",
        {
            "asset": "FX-0142",
            "position": "breathing-tube",
            "part": {
                "item": "tube-9",
                "lot": "T2502",
                "serial": "TB-310",
                "expires": "2031-12",
                "opened_on": "2025-10-05",
                "condition": "refitted",
            },
        },
    )

    position: Ref
    part: Part
