"""A unit or a part was cleaned."""

from typing import Any, ClassVar, Literal

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Ref

Method = Literal["wiped", "washed", "disinfected", "brushed", "compressed-air", "knocked-out", "other"]


class Cleaned(AssetEvent, frozen=True, kw_only=True):
    """How the whole unit or the part at `position` was cleaned."""

    example: ClassVar[dict[str, Any]] = sample(
        "cleaned", {"asset": "FX-0142", "scope": "part", "position": "spark-arrestor", "method": "brushed"}
    )

    scope: Literal["unit", "part"]
    position: Ref | None = None
    method: Method
