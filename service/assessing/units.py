"""Units: one by its tag, or a list of them."""

from collections.abc import AsyncIterator, Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.assessing.named import demand_model
from service.assessing.stories import Past, Stretch, past, stretches
from service.domain.caller import Caller
from service.domain.errors import NotFound
from service.domain.facts import Fact
from service.domain.intervals import MOMENT
from service.domain.kin import Prepared, UnitFacts, prepare
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.recorded import Recorded
from service.domain.rules import RULES
from service.domain.standing import FOREVER, SCALE, WORSE
from service.domain.unit import Unit
from service.domain.view import Moment, at_moment
from service.domain.view import shown as view_of
from service.page import Page
from service.recording.loading import load_drafts, load_rows
from service.recording.rows import card_of
from service.store.former_tags import former_tags
from service.store.unit_cards import unit_cards

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
        found = _having(prepared, tag, question)
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


def _having(prepared: Prepared, tag: str, question: Question) -> tuple[UnitFacts, Moment] | None:
    begun = [unit for unit in prepared.units if unit.start.at <= question.as_at]
    moments = [(unit, at_moment(unit.start, unit.facts, question.as_at, question.world)) for unit in begun]
    now = [found for found in moments if found[1].unit.tag == tag]
    once = [found for found in moments if tag in _tags(found[0])]
    found = now or once
    return found[-1] if found else None


def _tags(unit: UnitFacts) -> set[str]:
    """Name the tags a unit ever had."""
    events = [fact.event for fact in unit.facts if isinstance(fact, Fact)]
    given = {event.asset for event in events if isinstance(event, Registered)}
    return given | {event.new_tag for event in events if isinstance(event, Retagged)} | {unit.start.unit.tag}


async def show(question: Question, caller: Caller, tag: str) -> dict[str, object]:
    """Show a unit at the moment."""
    found = await find(question, caller, tag)
    return {**question.told(view_of(found.moment)), **question.about()}


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """What the units of a list must be like; None asks nothing.

    `holder` is a person, crew, vehicle or place. `due_before`: the thorough examination falls due before that moment,
    or has fallen due, if nothing more happens. `now`: for what a question of now alone can tell of them.
    """

    now: bool = False

    phase: str | None = None
    standing: str | None = None
    model: str | None = None
    holder: str | None = None
    due_before: datetime | None = None
    text: str | None = None
    rule: str | None = None


async def page(question: Question, sites: frozenset[str] | None, wanted: Wanted, after: str | None, limit: int) -> Page:
    """List units by tag, as they stand at the moment. Raises NotFound for a model that there is not."""
    demand_model(question, wanted.model)
    folded = await past(question)
    due = await _due(question, folded, sites) if wanted.now else {}
    before = None if wanted.due_before is None else max(wanted.due_before, question.as_at + MOMENT)
    chosen = [
        stretch
        for stretch in await stretches(question, folded, question.as_at, question.as_at + MOMENT, sites)
        if _is_wanted(stretch, wanted) and (before is None or due.get(stretch.unit, FOREVER) < before)
    ]
    cards = await _cards(question, folded, chosen)
    rows = sorted(
        ((cards[stretch.unit], stretch) for stretch in chosen if stretch.unit in cards),
        key=lambda row: (row[0]["tag"], row[1].unit),
    )
    former = set() if wanted.text is None else await _formerly(question, wanted.text)
    kept = [row for row in rows if _is_card_wanted(row[0], wanted, formerly=row[1].unit in former)]
    rest = [row for row in kept if after is None or _key(row) > after]
    shown = [
        _line(card, stretch) | (question.told(_now(card, due.get(stretch.unit))) if wanted.now else {})
        for card, stretch in rest[:limit]
    ]
    more = len(rest) > limit
    return Page(items=shown, next=_key(rest[limit - 1]) if more else None, about=question.about())


def _key(row: tuple[dict[str, object], Stretch]) -> str:
    return f"{row[0]['tag']} {row[1].unit}"


async def _due(question: Question, folded: Past, sites: frozenset[str] | None) -> dict[UUID, datetime]:
    """Give of each unit the first moment of the question's or later at which its thorough examination is overdue.

    Where it is so already, it is the beginning of the unit's standing.
    """
    found: dict[UUID, datetime] = {}
    for stretch in await stretches(question, folded, question.as_at, FOREVER, sites):
        one = stretch.interval
        if one.in_scope and int(one.rules[EXAMINATION]) >= OVERDUE:
            found[stretch.unit] = min(one.since, found.get(stretch.unit, FOREVER))
    return found


async def _formerly(question: Question, text: str) -> set[UUID]:
    """Name the units that once had a tag with the text in it, which no other unit has had since."""
    once = await former_tags(question.conn, question.organisation, text)
    drafts = await load_drafts(question.conn, question.organisation, kins={one.kin for one in once})
    found = (draft.stored(one.tag) for one in once for draft in drafts if draft.name == one.kin)
    return {folded.unit.unit for folded in found if folded is not None}


def _is_card_wanted(card: dict[str, Any], wanted: Wanted, *, formerly: bool) -> bool:
    says = wanted.text is None or formerly or wanted.text.lower() in f"{card['tag']} {card['serial']}".lower()
    return says and (wanted.holder is None or wanted.holder in (card["holder"] or {}).values())


def _is_wanted(stretch: Stretch, wanted: Wanted) -> bool:
    one = stretch.interval
    if wanted.rule is not None:
        place = next((nth for nth, rule in enumerate(RULES) if rule.name == wanted.rule), None)
        if place is None or not one.in_scope:
            return False
        said = SCALE[int(one.rules[place])]
        return said == wanted.standing if wanted.standing else said in {"due-soon", "overdue", "do-not-use"}
    pairs = ((wanted.phase, one.phase), (wanted.standing, one.standing), (wanted.model, one.model))
    return all(asked is None or asked == given for asked, given in pairs)


async def _cards(question: Question, folded: Past, chosen: Iterable[Stretch]) -> dict[UUID, dict[str, Any]]:
    """Give what a list shows of each unit beside its standing."""
    cards = {story.folded.unit.unit: story.folded.unit for story in folded.stories}
    stored = [stretch.unit for stretch in chosen if stretch.unit not in cards]
    rows = await unit_cards(question.conn, question.organisation, stored)
    found: dict[UUID, dict[str, Any]] = {row.unit: msgspec.json.decode(row.card) for row in rows}
    return found | {unit: msgspec.json.decode(card_of(told)) for unit, told in cards.items()}


def _now(card: dict[str, object], due: datetime | None) -> dict[str, object]:
    """Give what a list of the units as they are now tells more: a card is as its unit was last folded."""
    return {"use": card["use"], "holder": card["holder"], "due": due}


def _line(card: dict[str, object], stretch: Stretch) -> dict[str, object]:
    one = stretch.interval
    return {
        "tag": card["tag"],
        "model": one.model,
        "serial": card["serial"],
        "site": one.site,
        "phase": one.phase,
        "in_scope": one.in_scope,
        "standing": one.standing,
        "do_not_use": one.do_not_use,
        "reasons": one.reasons,
        "since": one.since,
        "rules": {
            rule.name: SCALE[int(digit)] for rule, digit in zip(RULES, one.rules, strict=False) if digit.isdigit()
        },
    }
