"""The keys the demo is loaded with. They also tell whether it has been: while it loads they are good, then revoked."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import cast
from uuid import UUID

from service.commands.key_create import created
from service.commands.owner import owner
from service.domain.caller import Role
from service.settings import Settings
from service.store.keys import keys
from service.store.revoke_key import revoke_key
from service.store.scope import set_organisation

NAME = "demo"


async def is_loaded(settings: Settings, organisation: UUID) -> bool:
    """Say whether the demo was loaded to its end."""
    async with owner(settings) as conn:
        await set_organisation(conn, organisation)
        ours = [key for key in await keys(conn, organisation) if key.name == NAME]
    return bool(ours) and all(key.revoked_at for key in ours)


async def make(
    settings: Settings, organisation: UUID, wanted: Iterable[tuple[str, str | None]], name: str = NAME
) -> dict[tuple[str, str | None], str]:
    """Make a key for each role and site; site None leaves the key free to go to all."""
    made = {}
    for role, site in wanted:
        bound = [site] if site else None
        made[role, site] = (await created(settings, organisation, cast(Role, role), sites=bound, name=name))[1]
    return made


async def end(settings: Settings, organisation: UUID, name: str = NAME) -> None:
    """Revoke every live key of that name."""
    async with owner(settings) as conn:
        await set_organisation(conn, organisation)
        for key in await keys(conn, organisation):
            if key.name == name and key.revoked_at is None:
                await revoke_key(conn, organisation, key.id, datetime.now(UTC))
