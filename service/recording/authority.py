"""Authority over rejected messages: that of the unit's site, where the message may report a failure of a unit."""

from psycopg import AsyncConnection

from service.domain.caller import Caller
from service.store.kins_of_tags import kins_of_tags
from service.store.rejected_messages import RejectedMessage
from service.store.units_of_kins import units_of_kins


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
    kins = {} if row.tag is None else await kins_of_tags(conn, caller.organisation, [row.tag])
    units = await units_of_kins(conn, caller.organisation, kins.values()) if kins else []
    return next((unit.site for unit in units if unit.tag == row.tag), None)
