"""Who asks: what a key is bound to."""

from datetime import datetime
from typing import Literal, TypeAlias
from uuid import UUID

import msgspec

Role: TypeAlias = Literal[
    "site-app", "site-lead", "manager", "integrator", "auditor", "worker-representative", "administrator"
]

LEADING = frozenset({"site-lead", "manager", "administrator"})


class KeyHolder(msgspec.Struct, frozen=True):
    """What a key is bound to; `sites` None is all of them."""

    role: Role
    sites: frozenset[str] | None = None

    def leads(self, site: str | None = None) -> bool:
        """Say whether the key has authority, at the site if one is named."""
        return self.role in LEADING and (site is None or self.reaches(site))

    def reaches(self, site: str) -> bool:
        """Say whether the site is one of the key's."""
        return self.sites is None or site in self.sites


class Caller(msgspec.Struct, frozen=True, kw_only=True):
    """A key that was presented and is valid; `sites` None means every site of the organisation."""

    organisation: UUID
    key: UUID
    role: Role
    sites: frozenset[str] | None = None
    expires_at: datetime | None = None
