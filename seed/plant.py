"""A site as the scenario runs it: its people, its units, its shelf and its bench."""

from datetime import date

import msgspec

from seed.shelf import Shelf
from seed.sites import Site
from seed.unit import Unit, Wearer


class Job(msgspec.Struct, eq=False):
    """Work on a withdrawn unit: what is done next, and on which day."""

    unit: Unit
    step: str
    on: date


class Plant(msgspec.Struct, eq=False, kw_only=True):
    """One site. The lead releases, examiners examine, technicians repair, the keeper runs the store."""

    site: Site
    lead: str
    examiners: tuple[str, ...]
    technicians: tuple[str, ...]
    keeper: str
    crew: tuple[str, ...]
    wearers: list[Wearer] = []
    units: list[Unit] = []
    bench: list[Job] = []
    shelf: Shelf
    expected: set[str] = set()

    @property
    def people(self) -> list[str]:
        """List everybody of the site, each once."""
        return [
            self.lead,
            *self.examiners,
            *self.technicians,
            self.keeper,
            *self.crew,
            *(one.ref for one in self.wearers),
        ]

    def role(self, *roles: str) -> list[Unit]:
        """List the units that the site keeps for one of the roles."""
        return [unit for unit in self.units if unit.role in roles]
