"""A unit leaves the firm's use for good."""

from typing import TYPE_CHECKING, Any, ClassVar, Literal

from msgspec.structs import replace
from typing_extensions import override

from service.domain.custody import arrive
from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Text

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


class Retired(AssetEvent, frozen=True, kw_only=True):
    """Final for the tag (R13)."""

    disposes: ClassVar[bool] = True
    kept_out: ClassVar[tuple[str, ...]] = ("remark", "disposal")
    example: ClassVar[dict[str, Any]] = sample(
        "retired", {"asset": "FX-0142", "reason": "worn-out", "disposal": "shell to metal scrap, battery to collection"}
    )

    reason: Literal["worn-out", "damaged", "obsolete", "lost", "other"]
    disposal: Text | None = None

    @override
    def handles(self) -> bool:
        """Say no: a lost unit is retired without having been seen."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Take the unit out of the records' care for good."""
        return replace(arrive(unit, fact.at), retired=True, missing=False)
