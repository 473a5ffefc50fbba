"""A unit failed while it was worn."""

from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import MANY, Ref

Sign = Literal["low-flow-alarm", "fan-stopped", "smell-or-taste", "dropped", "burnt", "wet", "battery-swollen", "other"]


class FailedInUse(AssetEvent, frozen=True, kw_only=True):
    """What the wearer noticed, and whether the area was left. No health data."""

    example: ClassVar[dict[str, Any]] = sample(
        "failed-in-use",
        {
            "asset": "FX-0142",
            "signs": ["low-flow-alarm", "smell-or-taste"],
            "left_area": True,
            "wearer": "p-3071",
            "task": "hull-welding",
        },
    )

    signs: Annotated[tuple[Sign, ...], Meta(max_length=MANY)]
    left_area: bool | None = None
    wearer: Ref | None = None
    task: Ref | None = None

    @override
    def adverse(self) -> bool:
        """Say yes: a failure is bad news."""
        return True
