"""A unit is meant for another use."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.unit import WaitingUse
from service.domain.value import FieldError
from service.domain.words import Reason, Ref, Use

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class UseSet(AssetEvent, frozen=True, kw_only=True):
    """The use decides how often the law asks for an examination; occasional needs a reason (design 4)."""

    disposes: ClassVar[bool] = True
    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "use-set",
        {"asset": "FX-0142", "use": "occasional", "authorised_by": "p-1002", "reason": "worn on shutdowns only"},
    )

    use: Use
    authorised_by: Ref
    reason: Reason | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Demand the reason of an occasional use."""
        if self.use == "occasional" and self.reason is None:
            yield FieldError("reason", "occasional use needs a reason")

    @override
    def handles(self) -> bool:
        """Say no: nobody needs the unit for that."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Set the use, if a site lead or a manager posted it; occasional use bites from receipt (R50)."""
        if not authorised(self.use, fact, world):
            return unit
        if self.use == "occasional" and fact.at < fact.recorded.received_at:
            return replace(unit, uses_waiting=(*unit.uses_waiting, WaitingUse(self.id, self.use)))
        return replace(unit, use=self.use, uses_waiting=())

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when the key's role does not authorise it."""
        return () if authorised(self.use, fact, world) else (Conflict("use-not-authorised"),)


def authorised(use: str, fact: "Fact", world: "World") -> bool:
    """Say whether the key may set the use: only occasional use loosens anything (R50)."""
    return use != "occasional" or _leads(fact, world)


def _leads(fact: "Fact", world: "World") -> bool:
    holder = world.key(fact.recorded.key)
    return holder is not None and holder.leads()
