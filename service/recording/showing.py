"""Showing: the unit as it is now, beside the receipt of what happened to it."""

from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.event import AssetEvent, Event
from service.domain.intervals import Interval
from service.recording.accepted import Accepted
from service.recording.desk import Desk
from service.recording.rows import OUTLOOK
from service.store.kins_of_tags import kins_of_tags
from service.store.units_of_kins import units_of_kins


def shown(tag: str, now: Interval | None) -> dict[str, object] | None:
    """Give the members that a receipt shows of a unit."""
    if now is None:
        return None
    return {
        "tag": tag,
        "phase": now.phase,
        "standing": now.standing,
        "do_not_use": now.do_not_use,
        "reasons": list(now.reasons),
    }


def asset_of(desk: Desk, accepted: Accepted, now: datetime) -> dict[str, object] | None:
    """Show the unit an accepted event is about, as this call leaves it; by its newest tag."""
    if not accepted.tags:
        return None
    tag = accepted.tags[-1]
    draft = desk.drafts[tag]
    return shown(tag, draft.unit_now(tag, now))


async def asset_now(conn: AsyncConnection, organisation: UUID, event: Event, now: datetime) -> dict[str, object] | None:
    """Show the unit a recorded event is about, as the database has it."""
    if not isinstance(event, AssetEvent):
        return None
    kins = await kins_of_tags(conn, organisation, [event.asset])
    for row in await units_of_kins(conn, organisation, kins.values()):
        if row.tag == event.asset:
            return shown(row.tag, OUTLOOK.decode(row.outlook).at(now))
    return None
