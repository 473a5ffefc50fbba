"""Placing: puts an accepted event into the drafts of the kins it touches, and joins kins that turn out to be one."""

from service.domain.errors import TagTaken
from service.domain.event import AssetEvent, Event, ReferenceEvent
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.voided import Voided
from service.domain.swaps import brings, hangs_on
from service.domain.unaltered import unaltered
from service.recording.accepted import Accepted
from service.recording.desk import Desk
from service.recording.draft import Draft, serial_ref
from service.recording.loading import load_rows
from service.recording.references import changed
from service.store.kins_depending_on import kins_depending_on


async def place(desk: Desk, accepted: Accepted) -> None:
    """Put the event into the drafts it touches, and say what the call changes or claims. Raises TagTaken."""
    event = accepted.recorded.event
    if isinstance(event, Registered):
        await _register(desk, event)
    elif isinstance(event, Retagged):
        await _retag(desk, event)
    if accepted.context:
        desk.refs |= _changed(desk, accepted)
    await desk.open_tags(accepted.tags)
    await _join_by_parts(desk, event)
    for tag in accepted.tags[:1]:
        draft = desk.drafts[tag]
        draft.new.append(accepted.recorded)
        if accepted.guarded:
            draft.guarded.add(event.id)
        draft.anew = draft.anew or isinstance(event, Voided | Registered | Retagged)


def _changed(desk: Desk, accepted: Accepted) -> set[str]:
    """Name what the event may have judged otherwise: nothing where a definition says what held already."""
    event = accepted.recorded.event if accepted.target is None else accepted.target
    if isinstance(event, ReferenceEvent):
        known = [*desk.known.rows, *desk.context()]
        if unaltered(event, known, [*known, accepted.recorded]):
            return set()
    return set(changed(event))


async def _register(desk: Desk, event: Registered) -> None:
    """Join the tag to the unit of that maker and serial, and to the unit it is fitted to. Raises TagTaken."""
    serial = serial_ref(desk.world.maker(event.model), event.serial)
    draft = desk.drafts.get(event.asset)
    if draft is not None:
        await _demand_free(desk, draft, event.asset, serial, "/asset")
    else:
        draft = Draft()
        draft.tags.add(event.asset)
        desk.drafts[event.asset] = draft
    desk.refs.add(serial)
    same = await desk.open_kins(await kins_depending_on(desk.conn, desk.organisation, [serial]))
    others = [*same, *([desk.serials[serial]] if serial in desk.serials else [])]
    if event.fitted_to is not None:
        await desk.open_tags([event.fitted_to])
        others.append(desk.drafts[event.fitted_to])
    for other in others:
        draft = _join(desk, draft, other)
    desk.serials[serial] = draft


async def _join_by_parts(desk: Desk, event: Event) -> None:
    """Join the unit to those that a component may have come from or gone to (R51)."""
    brought, asked = brings(event), hangs_on(event)
    if not isinstance(event, AssetEvent) or not brought:
        return
    desk.refs |= brought
    near = {tag for ref in brought for tag in desk.hanging.get(ref, ())}
    others = await desk.open_kins(await kins_depending_on(desk.conn, desk.organisation, brought))
    draft = desk.drafts[event.asset]
    for other in (*others, *(desk.drafts[tag] for tag in sorted(near))):
        draft = _join(desk, draft, other)
    for ref in asked:
        desk.hanging.setdefault(ref, set()).add(event.asset)


async def _retag(desk: Desk, event: Retagged) -> None:
    """Join the new tag to the unit's kin. Raises TagTaken."""
    draft = desk.drafts[event.asset]
    taken = desk.drafts.get(event.new_tag)
    if taken is not None:
        await _demand_free(desk, taken, event.new_tag, "", "/new_tag")
        draft = _join(desk, draft, taken)
    draft.tags.add(event.new_tag)
    desk.drafts[event.new_tag] = draft


def _join(desk: Desk, one: Draft, other: Draft) -> Draft:
    """Join two drafts, each as it is by now: either may have been joined to others since it was found."""
    one, other = desk.drafts[one.name], desk.drafts[other.name]
    if one is other:
        return one
    one.absorb(other)
    desk.drafts |= dict.fromkeys(one.tags, one)
    desk.serials |= {serial: one for serial, draft in desk.serials.items() if draft is other}
    return one


async def _demand_free(desk: Desk, draft: Draft, tag: str, serial: str, pointer: str) -> None:
    """Raise TagTaken where another unit, not retired, has the tag now (R47)."""
    await load_rows(desk.conn, desk.organisation, draft, desk.world)
    draft.fold_anew(desk.world)
    told = draft.told(tag)
    unit = None if told is None else told.folded.unit
    if unit is None or unit.tag != tag or unit.retired:
        return
    if serial_ref(unit.maker, unit.serial) != serial:
        raise TagTaken(pointer, tag)
