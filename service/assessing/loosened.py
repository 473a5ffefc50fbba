"""Loosened rules as a summary shows them: policies, corrections and units of occasional use, each with its reason.

A reason stands beside the log and may have been erased: then there is none to show.
"""

from collections.abc import Iterable, Mapping, Sequence
from uuid import UUID

from msgspec.structs import replace

from service.assessing.moment import Question
from service.assessing.stories import Past, stretches
from service.domain.event import AssetEvent
from service.domain.intervals import MOMENT
from service.domain.kinds.voided import Voided
from service.domain.loosened import Loosened, loosened
from service.domain.occasional import BEARS_ON_USE, SetUse, occasional
from service.domain.recorded import Recorded
from service.recording.filing import OCCASIONAL
from service.store.events_of_kinds import events_of_kinds
from service.store.events_of_subjects import events_of_subjects
from service.store.kins_of_tags import kins_of_tags
from service.store.load_kins import load_kins

REASONS = ("reason", "values.confined_proven.reason")
"""Where an event gives the reason of what it loosens."""


async def loosened_rules(question: Question, folded: Past, sites: frozenset[str] | None) -> list[Loosened]:
    """List what is loosened at the moment for the sites, or for all."""
    rows = [row for row in loosened(question.world.rulebook, question.as_at) if sites is None or _reaches(row, sites)]
    found = await _set_uses(question)
    places = await _places(question, folded, sites, [one.unit.unit for one in found])
    uses = [_of_use(one, places[one.unit.unit]) for one in found if one.unit.unit in places]
    every = rows + sorted(uses, key=lambda row: row.subject)
    told = await question.texts(row.event for row in every)
    return [replace(row, reason=_reason(told.get(row.event, {}))) for row in every]


async def _places(
    question: Question, folded: Past, sites: frozenset[str] | None, units: Sequence[UUID]
) -> dict[UUID, str]:
    """Say where units are counted, of those at the sites."""
    if not units:
        return {}
    told = await stretches(question, folded, question.as_at, question.as_at + MOMENT, sites, units)
    return {one.unit: one.interval.site for one in told}


def _reaches(row: Loosened, sites: frozenset[str]) -> bool:
    return row.site is None or row.site in sites


def _reason(texts: Mapping[str, str]) -> str | None:
    return next((texts[path] for path in REASONS if path in texts), None)


def _of_use(one: SetUse, site: str) -> Loosened:
    return Loosened(
        subject=f"asset:{one.unit.tag}",
        rule="thorough-examination",
        asset=one.unit.tag,
        policy=None,
        site=site,
        model=one.unit.model,
        values=("use",),
        by=one.event.authorised_by,
        reason=None,
        since=one.since,
        event=one.event.id,
        because=(one.seq,),
    )


async def _set_uses(question: Question) -> list[SetUse]:
    """Find the units of occasional use, each told from the few events that bear on a unit's use."""
    conn, organisation, until = question.conn, question.organisation, question.judged_to
    said = await events_of_subjects(conn, organisation, [OCCASIONAL], until_seq=until)
    tags = sorted({row.event.asset for row in said if isinstance(row.event, AssetEvent)})
    if not tags:
        return []
    names = set((await kins_of_tags(conn, organisation, tags)).values())
    kins = (await load_kins(conn, organisation, names)).values()
    kin_of = {tag: kin.kin for kin in kins for tag in kin.tags}
    subjects = [f"asset:{tag}" for tag in kin_of]
    rows = await events_of_kinds(conn, organisation, subjects, kinds=BEARS_ON_USE, until_seq=until)
    return [one for kin in by_kin(rows, kin_of) for one in occasional(kin, question.as_at, question.world)]


def by_kin(rows: Sequence[Recorded], kin_of: Mapping[str, str]) -> Iterable[list[Recorded]]:
    """Sort events of units and the voidings of them by kin; a voiding comes later in the log than what it names."""
    found: dict[str, list[Recorded]] = {}
    kins: dict[UUID, str] = {}
    for row in rows:
        event = row.event
        kin = kins.get(event.event) if isinstance(event, Voided) else None
        if isinstance(event, AssetEvent):
            kin = kin_of[event.asset]
        if kin is not None:
            kins[event.id] = kin
            found.setdefault(kin, []).append(row)
    return found.values()
