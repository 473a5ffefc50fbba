"""What must be true of the database before anything is served from it."""

from collections.abc import Mapping
from typing import Final

from psycopg import AsyncConnection

from service.store.errors import UnknownRevision, UnsafeRole, UnsafeServer
from service.store.schema_revision import schema_revision
from service.store.server_settings import server_settings
from service.store.serving_role import ServingRole, serving_role
from service.store.tables import REVISION

OLDEST: Final = 150000
DURABLE: Final[Mapping[str, frozenset[str]]] = {
    "fsync": frozenset({"on"}),
    "synchronous_commit": frozenset({"on", "remote_apply"}),
    "full_page_writes": frozenset({"on"}),
    "server_encoding": frozenset({"UTF8"}),
}


async def guard(conn: AsyncConnection) -> None:
    """Refuse to serve over this connection: raises UnsafeServer, UnsafeRole or UnknownRevision."""
    demand_durable(await server_settings(conn))
    demand_harmless(await serving_role(conn))
    found = await schema_revision(conn)
    if found != REVISION:
        raise UnknownRevision(found, REVISION)


def demand_durable(settings: Mapping[str, str]) -> None:
    """Refuse a server that is too old, or that may lose what it has acknowledged."""
    if int(settings["server_version_num"]) < OLDEST:
        message = "PostgreSQL 15 or newer is needed"
        raise UnsafeServer(message)
    for name, allowed in DURABLE.items():
        if settings[name] not in allowed:
            message = f"{name} is {settings[name]}, but must be {' or '.join(sorted(allowed))}"
            raise UnsafeServer(message)


def demand_harmless(role: ServingRole) -> None:
    """Refuse a role that row security or the append-only log does not hold for."""
    for power, why in (
        (role.is_superuser, "is a superuser"),
        (role.bypasses_row_security, "bypasses row security"),
        (role.owns_a_table, "owns the tables"),
    ):
        if power:
            raise UnsafeRole(role.name, why)
