"""Placing: puts an accepted event into the drafts of the kins it touches, each under its tags."""

from service.domain.errors import TagTaken
from service.domain.event import ReferenceEvent
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.voided import Voided
from service.domain.label import normal
from service.domain.unaltered import unaltered
from service.recording.accepted import Accepted
from service.recording.desk import Desk
from service.recording.draft import Draft
from service.recording.joining import join, join_by_maker, join_by_serials
from service.recording.loading import load_rows
from service.recording.references import changed


async def place(desk: Desk, accepted: Accepted) -> None:
    """Put the event into the drafts it touches, and say what the call changes or claims. Raises TagTaken."""
    event = accepted.recorded.event
    if isinstance(event, Registered):
        await _register(desk, event)
    elif isinstance(event, Retagged):
        await _retag(desk, event)
    elif isinstance(event, ModelDefined):
        await join_by_maker(desk, event)
    if accepted.context:
        desk.refs |= _changed(desk, accepted)
    await desk.open_tags(accepted.tags)
    await join_by_serials(desk, event)
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
    """Join the tag to the unit it is fitted to. Raises TagTaken."""
    draft = desk.drafts.get(event.asset)
    if draft is not None:
        serial = (desk.world.maker(event.model), normal(event.serial))
        await _demand_free(desk, draft, event.asset, serial, "/asset")
    else:
        draft = Draft()
        draft.tags.add(event.asset)
        desk.drafts[event.asset] = draft
    if event.fitted_to is not None:
        await desk.open_tags([event.fitted_to])
        join(desk, draft, desk.drafts[event.fitted_to])


async def _retag(desk: Desk, event: Retagged) -> None:
    """Join the new tag to the unit's kin. Raises TagTaken."""
    draft = desk.drafts[event.asset]
    taken = desk.drafts.get(event.new_tag)
    if taken is not None:
        await _demand_free(desk, taken, event.new_tag, None, "/new_tag")
        draft = join(desk, draft, taken)
    draft.tags.add(event.new_tag)
    desk.drafts[event.new_tag] = draft


async def _demand_free(desk: Desk, draft: Draft, tag: str, unit: tuple[str, str] | None, pointer: str) -> None:
    """Raise TagTaken where another unit than that of the maker and serial, not retired, has the tag now (R47)."""
    await load_rows(desk.conn, desk.organisation, draft, desk.world)
    draft.fold_anew(desk.world)
    told = draft.told(tag)
    owner = None if told is None else told.folded.unit
    if owner is None or owner.tag != tag or owner.retired:
        return
    if (owner.maker, normal(owner.serial)) != unit:
        raise TagTaken(pointer, tag)
