"""Keys that a command makes for its own work, known by their name and ended when it is done.

Those of the demo also tell whether it has been loaded: while it loads they are good, then revoked.
"""

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

DEMO = "demo"


async def is_loaded(settings: Settings, organisation: UUID) -> bool:
    """Say whether the demo was loaded to its end."""
    async with owner(settings) as conn:
        await set_organisation(conn, organisation)
        ours = [key for key in await keys(conn, organisation) if key.name == DEMO]
    return bool(ours) and all(key.revoked_at for key in ours)


async def make(
    settings: Settings, organisation: UUID, name: str, wanted: Iterable[tuple[str, str | None]]
) -> dict[tuple[str, str | None], str]:
    """Make a key for each role and site; site None leaves the key free to go to all."""
    made = {}
    for role, site in wanted:
        bound = [site] if site else None
        made[role, site] = (await created(settings, organisation, cast(Role, role), sites=bound, name=name))[1]
    return made


async def end(settings: Settings, organisation: UUID, name: str) -> None:
    """Revoke every live key of that name."""
    async with owner(settings) as conn:
        await set_organisation(conn, organisation)
        for key in await keys(conn, organisation):
            if key.name == name and key.revoked_at is None:
                await revoke_key(conn, organisation, key.id, datetime.now(UTC))
