"""A unit failed while it was worn."""

from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.unit import Cause, Evidence, Wearing
from service.domain.wearing import put_on
from service.domain.withdrawal import fail, hold
from service.domain.words import MANY, Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


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

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Withdraw the unit at once."""
        if self.wearer is not None and not fact.echo:
            between = world.terms(unit, fact.as_of).cleaning.between_wearers
            unit = put_on(unit, Wearing(self.wearer, fact.at, self.id), between_wearers=between)
        return hold(fail(unit, Evidence(fact.at, self.id)), Cause("failed", fact.at, self.id))
