"""A unit enters the firm's records."""

from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar

from msgspec.structs import replace
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.fitting import identify
from service.domain.part import PlacedParts
from service.domain.sample import sample
from service.domain.unit import Unit
from service.domain.withdrawal import put_away_if_held
from service.domain.words import Label, Ref, Tag, Use

if TYPE_CHECKING:
    from service.domain.facts import Fact
    from service.domain.world import World


class Registered(AssetEvent, frozen=True, kw_only=True):
    """A unit is known from now on by this tag. With `fitted_to` it is a component of another unit (R51)."""

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
        """Continue the unit under the tag: in store, if it was retired."""
        renamed = replace(
            unit, tag=self.asset, model=self.model, serial=self.serial, site=self.site, size=self.size or unit.size
        )
        if self.use is not None and self.use != "occasional":
            renamed = replace(renamed, use=self.use)
        known = _with_parts(renamed, self, fact, world)
        if not unit.retired:
            return known
        return put_away_if_held(replace(known, retired=False, where="in-store", holder=None), fact.at)

    def born(self, fact: "Fact", world: "World") -> "Unit":
        """Give the unit as its first registration states it; occasional use waits for an authority (R50)."""
        unit = Unit(
            unit=self.id,
            tag=self.asset,
            model=self.model,
            serial=self.serial,
            maker=world.maker(self.model),
            registered_at=fact.at,
            site=self.site,
            size=self.size,
            use="routine" if self.use in {None, "occasional"} else str(self.use),
            fitted_to=self.fitted_to,
            made_on=self.made_on,
        )
        return _with_parts(unit, self, fact, world)


def _with_parts(unit: "Unit", event: Registered, fact: "Fact", world: "World") -> "Unit":
    for placed in event.parts:
        unit = identify(unit, placed.position, placed.part, fact.at, event.id, world)
    return unit
