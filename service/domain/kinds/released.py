"""A unit may be used again."""

from typing import TYPE_CHECKING, Any, ClassVar
from uuid import UUID

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.custody import is_away, put_in_store
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.withdrawal import without_ground

if TYPE_CHECKING:
    from service.domain.facts import Fact, Taking
    from service.domain.unit import Unit
    from service.domain.world import World


class Released(AssetEvent, frozen=True, kw_only=True):
    """Ends a quarantine, if every reason held has its ground (R25).

    `voiding` names the `voided` event that the release rests on (R26).
    """

    disposes: ClassVar[bool] = True
    example: ClassVar[dict[str, Any]] = sample(
        "released", {"asset": "FX-0142", "voiding": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c09"}
    )

    voiding: UUID | None = None

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit and the voiding."""
        return (*super().subjects(), *([f"event:{self.voiding}"] if self.voiding else ()))

    @override
    def handles(self) -> bool:
        """Say no: nobody needs the unit for that."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Put the unit into store without a holder, if every reason has its ground; one away or missing stays so.

        A release that rests on the voiding of a recall frees the unit of that opening, too.
        """
        recalls = self._forgiven(unit, fact, world)
        bound = bool(unit.held) or bool(recalls)
        if not bound or self._lacking(unit, fact, world) or not world.may("release", fact, unit):
            return unit
        here = unit if unit.missing or is_away(unit) else put_in_store(unit, fact.at, None)
        return replace(here, held=(), forgiven=(*unit.forgiven, *recalls))

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say which reasons lack their ground, and when the person had no competence."""
        known = world.may("release", fact, unit)
        unknown = () if known else (Conflict("unknown-competence", ("release",)),)
        lacking = self._lacking(unit, fact, world)
        return (*unknown, Conflict("released-without-ground", lacking)) if lacking else unknown

    def _lacking(self, unit: "Unit", fact: "Fact", world: "World") -> tuple[str, ...]:
        taking = fact.taking
        held = {cause.recall for cause in unit.held if cause.recall is not None} if world.recalls else set()
        ends = {recall: world.recalls.voided(recall, fact.at) for recall in held}
        voided = {recall: end for recall, end in ends.items() if end is not None}
        if taking is None or not self._may_rest_on(taking, unit, fact, world):
            return without_ground(unit, voided=voided)
        recall = world.recalls.recall_of(taking.original)
        lifted = recall if recall in voided else None
        return without_ground(unit, forgiven=taking.original, voided=voided, lifted=lifted)

    def _forgiven(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[UUID, ...]":
        """Give the opening of a recall that the unit comes under and the release may leave out of account."""
        taking = fact.taking
        if taking is None or world.recalls.recall_of(taking.original) is None:
            return ()
        comes_under = taking.original in world.openings_on(unit, fact.at)
        return (taking.original,) if comes_under and self._may_rest_on(taking, unit, fact, world) else ()

    def _may_rest_on(self, taking: "Taking", unit: "Unit", fact: "Fact", world: "World") -> bool:
        """Say whether an authority releases on a voiding, after a complete passing check by another person (R26)."""
        holder = world.key(fact.recorded.key)
        marks = [key[0] for key in taking.keys if key < fact.key]
        if holder is None or not holder.leads(unit.site) or not marks:
            return False
        since = max(taking.at, *marks)
        involved = {taking.posted_by, taking.voided_by, self.by}
        return any(by not in involved and at > since for by, at in unit.passings.items())
