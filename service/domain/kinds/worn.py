"""A person breathes through a unit."""

from collections.abc import Iterator
from datetime import UTC
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from msgspec.structs import replace
from typing_extensions import override

from service.domain.conflict import Conflict
from service.domain.custody import out_of_use
from service.domain.event import AssetEvent
from service.domain.fitting import use_parts
from service.domain.sample import sample
from service.domain.unit import Breach, Evidence, Wearing, use_of
from service.domain.value import FieldError
from service.domain.wearing import breach, counts_working_days, covered, put_on
from service.domain.words import Instant, Ref

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.unit import Unit
    from service.domain.world import World


Purpose = Literal["routine", "emergency", "training", "fit-test"]


class Worn(AssetEvent, frozen=True, kw_only=True):
    """One wearing; it starts at `occurred_at`. Without `until` it is judged at its start (R18)."""

    after_retirement: ClassVar[str] = "worn-while-retired"
    example: ClassVar[dict[str, Any]] = sample(
        "worn",
        {
            "asset": "FX-0142",
            "wearer": "p-3071",
            "until": "2026-03-02T09:30:00+00:00",
            "task": "hull-welding",
            "purpose": "routine",
            "setting": "boost",
        },
    )

    wearer: Ref
    until: Instant | None = None
    task: Ref | None = None
    purpose: Purpose | None = None
    setting: Ref | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end without a start, and one before it."""
        if self.until is not None and self.occurred_at is None:
            yield FieldError("until", "needs occurred_at, its start")
        elif self.until is not None and self.occurred_at is not None and self.until < self.occurred_at:
            yield FieldError("until", "must not lie before occurred_at, its start")

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Count the use against the cover, the cleanliness and the parts; the phase does not change."""
        unit = put_on(unit, self._wearing(fact), between_wearers=world.terms(unit, fact.as_of).cleaning.between_wearers)
        by_calendar = counts_working_days(unit, world.terms(unit, fact.as_of).pre_use)
        unit = use_parts(unit, fact.at, world.day(fact.at, unit.site), uses=0 if by_calendar else 1)
        safe = covered(unit, self.wearer, fact.at)
        counted = self.counts(unit, fact, world)
        wearing = replace(self._wearing(fact), counted=counted, covered=safe, lapse=None if safe else fact.at)
        unit = replace(unit, wearings=(*unit.wearings, wearing))
        if not safe:
            unit = breach(unit, Breach(fact.at, self.wearer, "used-without-check", self.id))
        purpose = self.purpose or ("emergency" if use_of(unit) in {"emergency", "escape"} else "routine")
        return unit if purpose == "routine" else self._owed(unit, fact)

    @override
    def contradicts(self, unit: "Unit", fact: "Fact", world: "World") -> "tuple[Conflict, ...]":
        """Say when the unit was not there to be worn."""
        return out_of_use(unit, "worn")

    def counts(self, unit: "Unit", fact: "Fact", world: "World") -> bool:
        """Say whether it is a use of the summary: of a unit of the rates, where what was worn counts (R18)."""
        worn = world.terms(unit, fact.as_of).pre_use.count == "worn"
        return worn and unit.fitted_to is None and fact.at >= unit.registered_at

    def _wearing(self, fact: "Fact") -> Wearing:
        until = None if self.until is None else self.until.astimezone(UTC)
        return Wearing(self.wearer, fact.at, self.id, until)

    def _owed(self, unit: "Unit", fact: "Fact") -> "Unit":
        """Owe a function check and a cleaning after a use that is not routine."""
        owing = breach(unit, Breach(fact.at, None, "function-check-owed", self.id))
        return owing if owing.cleaning_owed is not None else replace(owing, cleaning_owed=Evidence(fact.at, self.id))
