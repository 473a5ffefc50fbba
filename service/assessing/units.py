"""Units: one by its tag, or a list of them."""

from collections.abc import AsyncIterator
from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.assessing.tags import after_all
from service.domain.caller import Caller
from service.domain.errors import NotFound
from service.domain.facts import Fact
from service.domain.kin import Prepared, UnitFacts, prepare
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.placing import place_all
from service.domain.recorded import Recorded
from service.domain.rules import RULES
from service.domain.standing import WORSE
from service.domain.unit import Unit
from service.domain.view import Moment, at_moment
from service.domain.view import shown as view_of
from service.domain.voiding import every_voiding
from service.recording.loading import load_drafts, load_rows

ASSET = "asset"
EXAMINATION = next(nth for nth, rule in enumerate(RULES) if rule.name == "thorough-examination")
OVERDUE = WORSE["overdue"]


class Found(msgspec.Struct, frozen=True):
    """A unit as asked for: its facts in order, how it stands at the moment, and the rows of its kin by event."""

    unit: UnitFacts
    moment: Moment
    prepared: Prepared
    rows: dict[UUID, Recorded]


async def find(question: Question, caller: Caller, tag: str) -> Found:
    """Find the unit that has a tag at the moment, else the one that had it last. Raises NotFound."""
    async for prepared, rows in _kins(question, tag):
        found = _having(prepared, rows, tag, question)
        if found is not None and (caller.sites is None or found[1].unit.site in caller.sites):
            return Found(*found, prepared, rows)
    raise NotFound(ASSET)


async def find_one(question: Question, unit: Unit) -> Found:
    """Find a unit that there is at the moment, whoever else has had its tag. Raises NotFound."""
    async for prepared, rows in _kins(question, unit.tag):
        for facts in prepared.units:
            if facts.start.unit.unit == unit.unit:
                return Found(facts, at_moment(facts.start, facts.facts, question.as_at, question.world), prepared, rows)
    raise NotFound(ASSET)


async def _kins(question: Question, tag: str) -> AsyncIterator[tuple[Prepared, dict[UUID, Recorded]]]:
    """Give the kins that a tag belongs to, as they are known, each with its rows by event."""
    for draft in await load_drafts(question.conn, question.organisation, tags=[tag]):
        await load_rows(
            question.conn,
            question.organisation,
            draft,
            question.world,
            until_seq=question.judged_to,
            known_at=question.known_at,
        )
        prepared = prepare(draft.old or (), draft.reports, question.world)
        yield prepared, {row.event.id: row for row in draft.old or ()}


def _having(
    prepared: Prepared, rows: dict[UUID, Recorded], tag: str, question: Question
) -> tuple[UnitFacts, Moment] | None:
    """Find the unit; of several that the tag was given to one after the other, the one that it meant then (R47)."""
    begun = [unit for unit in prepared.units if unit.start.at <= question.as_at]
    moments = [(unit, at_moment(unit.start, unit.facts, question.as_at, question.world)) for unit in begun]
    now = [found for found in moments if found[1].unit.tag == tag]
    once = [found for found in moments if tag in _tags(found[0])]
    found = now or once
    if not found[1:]:
        return next(iter(found), None)
    every = list(rows.values())
    meant = place_all(every, every_voiding(every), question.world).identity.unit(tag, after_all(question.as_at))
    return next((one for one in found if one[0].start.unit.unit == meant), found[-1])


def _tags(unit: UnitFacts) -> set[str]:
    """Name the tags a unit ever had."""
    events = [fact.event for fact in unit.facts if isinstance(fact, Fact)]
    given = {event.asset for event in events if isinstance(event, Registered)}
    return given | {event.new_tag for event in events if isinstance(event, Retagged)} | {unit.start.unit.tag}


async def show(question: Question, caller: Caller, tag: str) -> dict[str, object]:
    """Show a unit at the moment."""
    found = await find(question, caller, tag)
    return {**question.told(view_of(found.moment)), **question.about()}
