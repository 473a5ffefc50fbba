"""A recall is dealt with on one unit."""

from typing import TYPE_CHECKING, Any, ClassVar, Literal

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.unit import Remedy
from service.domain.words import Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World

Remedies = dict[str, tuple[Remedy, ...]]


class RecallActioned(AssetEvent, frozen=True, kw_only=True):
    """What was done; it clears only the part then fitted (design 4)."""

    example: ClassVar[dict[str, Any]] = sample(
        "recall-actioned", {"asset": "FX-0142", "recall": "rc-2026-01", "result": "fixed"}
    )

    recall: Ref
    result: Literal["fixed", "not-affected", "scrapped"]

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit and the recall."""
        return (*super().subjects(), f"recall:{self.recall}")

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Note the remedy; scrapping is none."""
        remedied = {**unit.remedied, self.recall: fact.at}
        match self.result:
            case "scrapped":
                return unit
            case "fixed":
                return replace(unit, remedied=remedied, fixed=self._noted(unit.fixed, fact))
        return replace(unit, remedied=remedied, not_affected=self._noted(unit.not_affected, fact))

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say where nothing of the unit is or was under the recall, nor is it withdrawn for it.

        What was done before an opening is no answer to it; a rehearsal may be answered, too.
        """
        withdrawn = ("recall", self.recall) in [(cause.reason, cause.recall) for cause in unit.held]
        known = withdrawn or self.recall in unit.recalled or self.recall in world.recalls_of(unit, fact.at)
        return () if known else (Conflict("not-under-recall"),)

    def _noted(self, known: Remedies, fact: "Fact") -> Remedies:
        """Add a remedy, in place of those of which it clears everything."""
        done = Remedy(fact.at, fact.as_of)
        others = (one for one in known.get(self.recall, ()) if not done.covers(one))
        return {**known, self.recall: (*others, done)}
