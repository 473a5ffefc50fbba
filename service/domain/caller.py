"""Who asks: what a key is bound to."""

from datetime import datetime
from typing import Literal, TypeAlias
from uuid import UUID

import msgspec

Role: TypeAlias = Literal[
    "site-app", "site-lead", "manager", "integrator", "auditor", "worker-representative", "administrator"
]


class Caller(msgspec.Struct, frozen=True, kw_only=True):
    """A key that was presented and is valid; `sites` None means every site of the organisation."""

    organisation: UUID
    key: UUID
    role: Role
    sites: frozenset[str] | None = None
    expires_at: datetime | None = None
