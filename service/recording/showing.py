"""Showing: the unit as it is now, beside the receipt of what happened to it, and what that contradicts.

A key that is bound to sites is shown both whole where the unit is at one of them.
"""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.afar import seen_from_afar
from service.domain.conflict import Conflict
from service.domain.event import AssetEvent, Event
from service.domain.fold import Story
from service.domain.intervals import Interval
from service.recording.accepted import Accepted
from service.recording.desk import Desk
from service.recording.loading import unit_named
from service.recording.rows import SEEN
from service.store.sites_at import sites_at
from service.store.units_of_event import units_of_event

Sites = frozenset[str] | None
"""The sites that a key is bound to, None for all."""


def theirs(sites: Sites, homes: Iterable[str]) -> bool:
    """Say whether a key is shown whole what is at these sites; what is nowhere it is not."""
    at = set(homes)
    return sites is None or (bool(at) and at <= sites)


def shown(tag: str, now: Interval | None, sites: Sites) -> dict[str, object] | None:
    """Give the members that a receipt shows of a unit.

    Of one that is at no site of the key they say only whether it may be used: whoever has it in hand must know that;
    what the other site found is for its own keys.
    """
    if now is None:
        return None
    whole = theirs(sites, [now.site])
    return {
        "tag": tag,
        "phase": now.phase if whole else None,
        "standing": now.standing if whole else None,
        "do_not_use": now.do_not_use,
        "reasons": list(now.reasons) if whole else [],
    }


def asset_of(desk: Desk, accepted: Accepted, now: datetime, sites: Sites) -> dict[str, object] | None:
    """Show a key the unit an accepted event is about, as this call leaves it; by its newest tag."""
    told = desk.drafts[accepted.tags[-1]].told(accepted.tags[-1]) if accepted.tags else None
    return None if told is None else shown(told.folded.unit.tag, _standing(told, now), sites)


def conflicts_of(desk: Desk, accepted: Accepted, now: datetime, sites: Sites) -> tuple[Conflict, ...]:
    """Give what a key is told of the conflicts of an accepted event, as this call leaves its unit."""
    event, conflicts = accepted.recorded.event, desk.conflicts(accepted)
    if sites is None or not conflicts or not isinstance(event, AssetEvent):
        return conflicts
    standings = (_standing(told, now) for told in _contradicted(desk, accepted))
    homes = [standing.site for standing in standings if standing is not None]
    return conflicts if theirs(sites, homes) else seen_from_afar(event, conflicts)


def _contradicted(desk: Desk, accepted: Accepted) -> list[Story]:
    """Give the unit whose history an event contradicts; where none does any more, all that it may be about."""
    story = desk.drafts[accepted.tags[0]].story
    every = [] if story is None else list(story.stories)
    found = [told for told in every if any(one.event == accepted.recorded.event.id for one in told.findings)]
    return found or every


def _standing(told: Story, now: datetime) -> Interval | None:
    return next((one for one in told.intervals if one.since <= now < one.until), None)


async def asset_now(
    conn: AsyncConnection, organisation: UUID, event: Event, now: datetime, sites: Sites
) -> dict[str, object] | None:
    """Show a key of some sites the unit a recorded event is about, as the database has it."""
    row = await unit_named(conn, organisation, event.asset) if isinstance(event, AssetEvent) else None
    return None if row is None else shown(row.tag, SEEN.decode(row.outlook).at(now), sites)


async def conflicts_now(
    conn: AsyncConnection,
    organisation: UUID,
    event: Event,
    conflicts: tuple[Conflict, ...],
    now: datetime,
    sites: Sites,
) -> tuple[Conflict, ...]:
    """Give what a key is told of the conflicts of a recorded event, by where the database has its unit."""
    if sites is None or not conflicts or not isinstance(event, AssetEvent):
        return conflicts
    units = await units_of_event(conn, organisation, event.asset, event.id)
    homes = await sites_at(conn, organisation, units, now)
    return conflicts if theirs(sites, homes.values()) else seen_from_afar(event, conflicts)
