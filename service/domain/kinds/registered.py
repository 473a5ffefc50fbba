"""A unit enters the firm's records."""

from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.custody import put_in_store
from service.domain.event import AssetEvent
from service.domain.fitting import identify
from service.domain.part import PlacedParts
from service.domain.sample import sample
from service.domain.unit import Unit
from service.domain.words import Label, Ref, Tag, Use

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.world import World


class Registered(AssetEvent, frozen=True, kw_only=True):
    """A unit is known from now on by this tag. With `fitted_to` it is a component of another unit (R51)."""

    names: ClassVar[bool] = True
    revives: ClassVar[bool] = True
    example: ClassVar[dict[str, Any]] = sample(
        "registered",
        {
            "asset": "FX-0142",
            "model": "northwind-2",
            "serial": "NW2-004417",
            "site": "harrow-dock",
            "size": "M",
            "use": "routine",
            "made_on": "2025-06-11",
            "acquired_on": "2025-09-01",
            "fitted_to": "FX-0140",
            "parts": [
                {
                    "position": "particle-filter",
                    "part": {
                        "item": "pf-170",
                        "lot": "L2409",
                        "serial": "PF-88",
                        "expires": "2029-03",
                        "opened_on": "2026-03-01",
                        "condition": "new",
                    },
                }
            ],
        },
    )

    model: Ref
    serial: Label
    site: Ref
    size: Label | None = None
    use: Use | None = None
    made_on: date | None = None
    acquired_on: date | None = None
    fitted_to: Tag | None = None
    parts: PlacedParts = ()

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the unit and the one it is fitted to."""
        return (*super().subjects(), *([f"asset:{self.fitted_to}"] if self.fitted_to else ()))

    @override
    def handles(self) -> bool:
        """Say no: nobody needs the unit for that."""
        return False

    @override
    def happened(self, unit: "Unit", fact: "Fact", world: "World") -> "Unit":
        """Take what it states for the unit; one that was retired is in store again."""
        made_on, acquired_on = self.made_on or unit.made_on, self.acquired_on or unit.acquired_on
        known = replace(
            unit,
            tag=self.asset,
            model=self.model,
            former=tuple(model for model in dict.fromkeys((*unit.former, unit.model)) if model != self.model),
            serial=self.serial,
            site=self.site,
            size=self.size or unit.size,
            fitted_to=self.fitted_to or unit.fitted_to,
            made_on=made_on,
            acquired_on=acquired_on,
            made_once=_once(unit.made_once, unit.made_on, made_on),
            acquired_once=_once(unit.acquired_once, unit.acquired_on, acquired_on),
            stated=(),
        )
        if self.use is not None:
            known = replace(known, use=self._use(), uses_waiting=())
        for placed in self.parts:
            known = identify(known, placed.position, placed.part, fact, world)
        again = unit.retired and self.id != unit.unit
        return replace(put_in_store(known, fact.at, None), retired=False) if again else known

    def born(self, fact: "Fact", world: "World") -> "Unit":
        """Give the unit as its first registration names it, before anything happened to it."""
        return Unit(
            unit=self.id,
            tag=self.asset,
            model=self.model,
            serial=self.serial,
            maker=world.maker(self.model),
            registered_at=fact.at,
            site=self.site,
            size=self.size,
            use=self._use(),
            fitted_to=self.fitted_to,
            made_on=self.made_on,
            acquired_on=self.acquired_on,
            by_day=self.occurred_on is not None,
            stated=self.parts,
        )

    def _use(self) -> str:
        """Give the use it states; occasional use waits for an authority (R50)."""
        return "routine" if self.use in {None, "occasional"} else str(self.use)


def _once(known: tuple[date, ...], before: date | None, now: date | None) -> tuple[date, ...]:
    """Give the days that were stated, but for the one that is stated now."""
    return tuple(day for day in dict.fromkeys((*known, before)) if day is not None and day != now)
