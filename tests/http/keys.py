"""Keys for tests, made as the command line makes them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from psycopg import AsyncConnection

from service.domain.caller import Role
from service.store.key_secret import new_key_secret
from service.store.make_key import NewKey, make_key
from service.store.revoke_key import revoke_key
from service.store.scope import set_organisation
from tests.http.doors import NOON, OURS


@dataclass(frozen=True)
class Keys:
    """What makes and revokes keys, on a connection of the owner."""

    owner: AsyncConnection

    async def make(
        self,
        role: Role,
        sites: Sequence[str] | None = None,
        *,
        organisation: UUID = OURS,
        key: UUID | None = None,
        expires_at: datetime | None = None,
    ) -> dict[str, str]:
        """Make a key and give the header that presents it."""
        secret = new_key_secret()
        new = NewKey(
            id=key or uuid4(),
            name=f"a {role} of a test",
            role=role,
            sites=None if sites is None else list(sites),
            secret_hash=secret.hash,
            created_at=NOON - timedelta(days=1),
            expires_at=expires_at,
        )
        async with self.owner.transaction():
            await set_organisation(self.owner, organisation)
            await make_key(self.owner, organisation, new)
        return {"authorization": f"Bearer {secret.text}"}

    async def revoke(self, key: UUID) -> None:
        """Revoke a key of our firm."""
        async with self.owner.transaction():
            await set_organisation(self.owner, OURS)
            await revoke_key(self.owner, OURS, key, NOON)
