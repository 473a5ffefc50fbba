"""What the commands of the owner share: a connection that names one organisation, and finding it by name."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from uuid import UUID

from psycopg import AsyncConnection

from service.commands.failures import NoSuchOrganisation, OwnerNeeded
from service.settings import Settings
from service.store.connecting import connect
from service.store.organisations import organisations
from service.store.scope import set_organisation


@asynccontextmanager
async def owner(settings: Settings) -> AsyncIterator[AsyncConnection]:
    """Connect as the owner, in one transaction for the block."""
    if settings.migration_database_url is None:
        raise OwnerNeeded
    async with await connect(settings.migration_database_url) as conn, conn.transaction():
        yield conn


async def find_organisation(conn: AsyncConnection, name: str) -> UUID:
    """Find an organisation by its name or id and work on it; raises NoSuchOrganisation."""
    known = await organisations(conn)
    found = [organisation for organisation, its_name in known if name in (its_name, str(organisation))]
    if len(found) != 1:
        raise NoSuchOrganisation(name, [its_name for _, its_name in known])
    await set_organisation(conn, found[0])
    return found[0]


async def each_organisation(conn: AsyncConnection, name: str | None) -> AsyncIterator[tuple[UUID, str]]:
    """Work on one organisation after the other, by name, or on the one named; gives id and name of each."""
    known = await organisations(conn)
    wanted = {await find_organisation(conn, name)} if name is not None else {organisation for organisation, _ in known}
    for organisation, its_name in known:
        if organisation in wanted:
            await set_organisation(conn, organisation)
            yield organisation, its_name
