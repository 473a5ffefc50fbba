"""A unit is handed out."""

from typing import Any, ClassVar

from service.domain.event import AssetEvent
from service.domain.holder import Holder
from service.domain.sample import sample
from service.domain.words import Ref


class Issued(AssetEvent, frozen=True, kw_only=True):
    """The holder has the unit from now on."""

    example: ClassVar[dict[str, Any]] = sample(
        "issued", {"asset": "FX-0142", "holder": {"person": "p-3071"}, "task": "hull-welding"}
    )

    holder: Holder
    task: Ref | None = None
