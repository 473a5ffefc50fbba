"""Placing: puts an accepted event into the drafts of the kins it touches, and joins kins that turn out to be one."""

from service.domain.errors import TagTaken
from service.domain.event import AssetEvent, Event, ReferenceEvent
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.voided import Voided
from service.domain.kinship import brings, hangs_on, serial_ref
from service.domain.label import normal
from service.domain.unaltered import unaltered
from service.recording.accepted import Accepted
from service.recording.desk import Desk
from service.recording.draft import Draft
from service.recording.loading import load_rows
from service.recording.references import changed
from service.store.kins_depending_on import kins_depending_on
from service.store.refs_depended_on import refs_depended_on


async def place(desk: Desk, accepted: Accepted) -> None:
    """Put the event into the drafts it touches, and say what the call changes or claims. Raises TagTaken."""
    event = accepted.recorded.event
    if isinstance(event, Registered):
        await _register(desk, event)
    elif isinstance(event, Retagged):
        await _retag(desk, event)
    elif isinstance(event, ModelDefined):
        await _join_by_maker(desk, event)
    if accepted.context:
        desk.refs |= _changed(desk, accepted)
    await desk.open_tags(accepted.tags)
    await _join_by_serials(desk, event)
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
        _join(desk, draft, desk.drafts[event.fitted_to])


async def _join_by_serials(desk: Desk, event: Event) -> None:
    """Join the unit to what it may be (R13), and to those that a component may have come from or gone to (R51)."""
    brought, asked = brings(event, desk.world), hangs_on(event)
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


async def _join_by_maker(desk: Desk, event: ModelDefined) -> None:
    """Join the units of a model to those they may be if it is of a maker it was never said to be of.

    Registrations of either that are recorded meanwhile make the definition stale: they hang on what is claimed here.
    """
    theirs = desk.world.made_by(event.made_by) - desk.world.kindred(event.model)
    if not theirs:
        return
    desk.refs.add(f"model:{event.model}")
    ours = await _registered(desk, event.model)
    for model in sorted(theirs) if ours else ():
        desk.refs |= {serial_ref(model, serial) for serial in ours}
        for serial, names in (await _registered(desk, model)).items():
            if serial in ours:
                one, *others = await desk.open_kins(names | ours[serial])
                for other in others:
                    _join(desk, one, other)


async def _registered(desk: Desk, model: str) -> dict[str, set[str]]:
    """Give the serial numbers registered as a model, each with the kins or tags that have it."""
    beginning = serial_ref(model, "")
    stored = await refs_depended_on(desk.conn, desk.organisation, beginning)
    here = ((ref, tag) for ref, tags in desk.hanging.items() if ref.startswith(beginning) for tag in tags)
    found: dict[str, set[str]] = {}
    for ref, name in (*stored, *here):
        found.setdefault(ref.removeprefix(beginning), set()).add(name)
    return found


async def _retag(desk: Desk, event: Retagged) -> None:
    """Join the new tag to the unit's kin. Raises TagTaken."""
    draft = desk.drafts[event.asset]
    taken = desk.drafts.get(event.new_tag)
    if taken is not None:
        await _demand_free(desk, taken, event.new_tag, None, "/new_tag")
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
    return one


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
