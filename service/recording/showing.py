"""Showing: the unit as it is now, beside the receipt of what happened to it."""

from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.event import AssetEvent, Event
from service.domain.intervals import Interval
from service.recording.accepted import Accepted
from service.recording.desk import Desk
from service.recording.loading import unit_named
from service.recording.rows import OUTLOOK

Sites = frozenset[str] | None
"""The sites that a key is bound to, None for all."""


def shown(tag: str, now: Interval | None, sites: Sites) -> dict[str, object] | None:
    """Give the members that a receipt shows of a unit.

    Of one that is at no site of the key they say only whether it may be used: whoever has it in hand must know that;
    what the other site found is for its own keys.
    """
    if now is None:
        return None
    theirs = sites is None or now.site in sites
    return {
        "tag": tag,
        "phase": now.phase if theirs else None,
        "standing": now.standing if theirs else None,
        "do_not_use": now.do_not_use,
        "reasons": list(now.reasons) if theirs else [],
    }


def asset_of(desk: Desk, accepted: Accepted, now: datetime) -> dict[str, object] | None:
    """Show its sender the unit an accepted event is about, as this call leaves it; by its newest tag."""
    told = desk.drafts[accepted.tags[-1]].told(accepted.tags[-1]) if accepted.tags else None
    if told is None:
        return None
    standing = next((one for one in told.intervals if one.since <= now < one.until), None)
    return shown(told.folded.unit.tag, standing, accepted.incoming.sender.sites)


async def asset_now(
    conn: AsyncConnection, organisation: UUID, event: Event, now: datetime, sites: Sites
) -> dict[str, object] | None:
    """Show a key of some sites the unit a recorded event is about, as the database has it."""
    row = await unit_named(conn, organisation, event.asset) if isinstance(event, AssetEvent) else None
    return None if row is None else shown(row.tag, OUTLOOK.decode(row.outlook).at(now), sites)
