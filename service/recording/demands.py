"""Demands: what a message must meet, given what is known, before its event is accepted."""

from service.domain.current import current, name_of
from service.domain.errors import (
    Malformed,
    OwnAdverseEvent,
    PolicyRefused,
    SiteNotAllowed,
    UnknownReference,
)
from service.domain.event import Event, ReferenceEvent
from service.domain.kinds.voided import Voided
from service.domain.limits import refusals
from service.domain.recorded import Recorded
from service.domain.starting import Start
from service.domain.voiding import own
from service.recording.desk import Desk
from service.recording.filing import tags_of
from service.recording.incoming import Incoming
from service.recording.references import wanted


async def demand(desk: Desk, event: Event, incoming: Incoming) -> None:
    """Demand all that an event needs. Raises Refused."""
    demand_references(desk, event, waits=event.adverse() or not incoming.strict)
    if isinstance(event, Voided) and (target := desk.known_event(event.event)) is not None:
        demand_voidable(desk, event, target, incoming)
    if isinstance(event, ReferenceEvent):
        demand_lawful(desk, event)
        if incoming.starts_from is not None:
            demand_version(desk, event, incoming.starts_from)


def demand_references(desk: Desk, event: Event, *, waits: bool) -> None:
    """Raise UnknownReference for all that is not known yet (R46).

    What is to be recorded only if nothing contradicts it does not wait: later its sender is not there to be told.
    """
    missing = [(pointer, reference) for pointer, reference in wanted(event) if not desk.is_known(reference)]
    if missing:
        raise UnknownReference.of(missing, waits=waits)


def demand_voidable(desk: Desk, event: Voided, target: Recorded, incoming: Incoming) -> None:
    """Raise OwnAdverseEvent (R27), or SiteNotAllowed without authority over what is voided."""
    sites = incoming.sender.sites
    if sites is not None:
        _demand_authority(desk, target, sites)
    adverse = target.event.adverse() and not isinstance(target.event, Voided)
    if adverse and own(desk.as_recorded(event, incoming), target):
        raise OwnAdverseEvent


def _demand_authority(desk: Desk, target: Recorded, sites: frozenset[str]) -> None:
    """Raise SiteNotAllowed for an event of another site; of one that names none, the site of its unit counts."""
    site = target.event.site
    if site is None:
        tags = tags_of(desk.root(target).event)
        unit = desk.drafts[tags[0]].stored(tags[0]) if tags and tags[0] in desk.drafts else None
        site = None if unit is None else unit.unit.site
    if site not in sites:
        raise SiteNotAllowed(None, "/event")


def demand_lawful(desk: Desk, event: ReferenceEvent) -> None:
    """Raise PolicyRefused for what the law does not allow, Malformed for what no site or policy can be."""
    found = refusals(event, desk.world.rulebook)
    if found and found[0].clause:
        raise PolicyRefused.of(found)
    if found:
        raise Malformed.of([(one.pointer, one.detail) for one in found])


def demand_version(desk: Desk, event: ReferenceEvent, start: Start) -> None:
    """Raise PreconditionRequired or VersionMismatch where the change does not start from the version there is."""
    start.demand(version_of(desk, event))


def version_of(desk: Desk, event: ReferenceEvent) -> int | None:
    """Give the version there is of what an event defines; None where there is none."""
    found = current([*desk.known.rows, *desk.context()], event.kind).get(name_of(event))
    return None if found is None else found.seq
