"""Joining: makes one draft of kins that turn out to hang together, by serial numbers above all (`kinship`)."""

from collections.abc import Iterable

from service.domain.event import AssetEvent, Event
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinship import brings, hangs_on, serial_ref
from service.recording.desk import Desk
from service.recording.draft import Draft
from service.store.errors import StaleContext
from service.store.kins_by_ref import kins_by_ref
from service.store.kins_depending_on import kins_depending_on
from service.store.refs_depended_on import refs_depended_on

DEPENDENTS = "dependents"


def join(desk: Desk, one: Draft, other: Draft) -> Draft:
    """Join two drafts, each as it is by now: either may have been joined to others since it was found."""
    one, other = desk.drafts[one.name], desk.drafts[other.name]
    if one is other:
        return one
    one.absorb(other)
    desk.drafts |= dict.fromkeys(one.tags, one)
    return one


async def join_by_serials(desk: Desk, event: Event) -> None:
    """Join the unit to what it may be (R13), and to those that a component may have come from or gone to (R51)."""
    brought, asked = brings(event, desk.world), hangs_on(event)
    if not isinstance(event, AssetEvent) or not brought:
        return
    _bring(desk, brought, {event.asset})
    near = {tag for ref in brought for tag in desk.hanging.get(ref, ())}
    others = await desk.open_kins(await kins_depending_on(desk.conn, desk.organisation, brought))
    draft = desk.drafts[event.asset]
    for other in (*others, *(desk.drafts[tag] for tag in sorted(near))):
        draft = join(desk, draft, other)
    for ref in asked:
        desk.hanging.setdefault(ref, set()).add(event.asset)


async def join_by_maker(desk: Desk, event: ModelDefined) -> None:
    """Join the units of a model to those they may be if it is of a maker it was never said to be of."""
    theirs = desk.world.made_by(event.made_by) - desk.world.kindred(event.model)
    if not theirs:
        return
    ours = await _registered(desk, event.model)
    desk.refs.add(f"model:{event.model}")
    desk.registered[event.model] = desk.registered.get(event.model, ours.keys()) & ours.keys()
    for model in sorted(theirs) if ours else ():
        for serial, names in ours.items():
            _bring(desk, [serial_ref(model, serial)], names)
        for serial, names in (await _registered(desk, model)).items():
            if serial in ours:
                one, *others = await desk.open_kins(names | ours[serial])
                for other in others:
                    join(desk, one, other)


def _bring(desk: Desk, refs: Iterable[str], names: set[str]) -> None:
    """Note what is brought by which tags or kins; whoever asks for it is one kin with them."""
    for ref in refs:
        desk.refs.add(ref)
        desk.bringing[ref] = desk.bringing.get(ref, set()) | names


async def _registered(desk: Desk, model: str) -> dict[str, set[str]]:
    """Give the serial numbers registered as a model, each with the kins or tags that have it."""
    beginning = serial_ref(model, "")
    stored = await refs_depended_on(desk.conn, desk.organisation, beginning)
    here = ((ref, tag) for ref, tags in desk.hanging.items() if ref.startswith(beginning) for tag in tags)
    found: dict[str, set[str]] = {}
    for ref, name in (*stored, *here):
        found.setdefault(ref.removeprefix(beginning), set()).add(name)
    return found


async def demand_joined(desk: Desk) -> None:
    """Raise StaleContext where others have recorded meanwhile what should be one kin with what is placed here.

    Every kin is read by now: what is recorded from here on makes the append stale, be it of these kins or of others.
    """
    for model, known in desk.registered.items():
        stored = await refs_depended_on(desk.conn, desk.organisation, serial_ref(model, ""))
        if not {ref for ref, _ in stored} <= {*desk.hanging, *(serial_ref(model, serial) for serial in known)}:
            raise StaleContext(DEPENDENTS)
    asking = await kins_by_ref(desk.conn, desk.organisation, desk.bringing) if desk.bringing else ()
    for ref, kin in asking:
        if any(desk.drafts.get(kin) is not desk.drafts.get(name) for name in desk.bringing[ref]):
            raise StaleContext(DEPENDENTS)
