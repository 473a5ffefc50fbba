"""Authority over rejected messages: that of the unit's site, where the message may report a failure of a unit."""

from psycopg import AsyncConnection

from service.domain.caller import Caller
from service.recording.loading import unit_named
from service.store.rejected_messages import RejectedMessage


async def has_authority(conn: AsyncConnection, caller: Caller, row: RejectedMessage) -> bool:
    """Say whether a key may settle a message: a report by the site its unit is at, anything else by its own site."""
    if caller.sites is None:
        return True
    site = await site_of_unit(conn, caller, row) if row.adverse else None
    return (site or row.site) in caller.sites


async def may_read(conn: AsyncConnection, caller: Caller, row: RejectedMessage) -> bool:
    """Say whether a key may read a message: of its own sites, or about a unit there."""
    return caller.sites is None or row.site in caller.sites or await has_authority(conn, caller, row)


async def site_of_unit(conn: AsyncConnection, caller: Caller, row: RejectedMessage) -> str | None:
    """Give the site where the unit is that a message names; None for a tag not known."""
    unit = None if row.tag is None else await unit_named(conn, caller.organisation, row.tag)
    return None if unit is None else unit.site
