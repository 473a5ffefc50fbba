"""Units listed by tag, as they stand at a moment; found by the database, those folded in memory along with them."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.assessing.named import demand_model
from service.assessing.stories import Past, past, stretches
from service.domain.fold import Story
from service.domain.intervals import MOMENT, Interval
from service.domain.rules import RULES
from service.domain.standing import FOREVER, SCALE, WORSE, Standing
from service.page import Page
from service.recording.loading import load_drafts
from service.recording.rows import card_of, packed, unpacked
from service.store.former_tags import former_tags
from service.store.listed_units import Chosen, ListedUnit, listed_units

PLACES = {rule.name: nth for nth, rule in enumerate(RULES)}
EXAMINATION = PLACES["thorough-examination"]
OVERDUE = WORSE["overdue"]
SPEAKING = [WORSE[said] for said in ("due-soon", "overdue", "do-not-use")]
"""What a rule says that is asked after alone: whatever somebody should act upon."""


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """What the units of a list must be like; None asks nothing.

    `holder` is a person, crew, vehicle or place. `due_before`: the thorough examination falls due before that moment,
    or has fallen due, if nothing more happens. `now`: for what a question of now alone can tell of them.
    """

    now: bool = False

    phase: str | None = None
    standing: Standing | None = None
    model: str | None = None
    holder: str | None = None
    due_before: datetime | None = None
    text: str | None = None
    rule: str | None = None


async def page(question: Question, sites: frozenset[str] | None, wanted: Wanted, after: str | None, limit: int) -> Page:
    """List units by tag, as they stand at the moment. Raises NotFound for a model that there is not."""
    demand_model(question, wanted.model)
    folded = await past(question)
    before = None if wanted.due_before is None else max(wanted.due_before, question.as_at + MOMENT)
    rows = await listed_units(
        question.conn,
        question.organisation,
        question.as_at,
        Chosen(
            fallen=EXAMINATION,
            fallen_from=OVERDUE,
            sites=sites,
            phase=wanted.phase,
            standing=wanted.standing if wanted.rule is None else None,
            model=wanted.model,
            rule=None if wanted.rule is None else PLACES[wanted.rule],
            said=[WORSE[wanted.standing]] if wanted.standing else SPEAKING,
            text=wanted.text,
            former=() if wanted.text is None else await _formerly(question, wanted.text),
            holder=wanted.holder,
            before=before,
            after=after,
            limit=limit + 1,
        ),
        instead=list(_again(folded, question.as_at, before)),
        without=folded.units,
    )
    shown, more = rows[:limit], len(rows) > limit
    due = await _due(question, folded, [row.unit for row in shown]) if wanted.now else {}
    items = [_line(row) | (question.told(_now(row, due.get(row.unit))) if wanted.now else {}) for row in shown]
    last = f"{shown[-1].tag} {shown[-1].unit}" if more else None
    return Page(items=items, next=last, about=question.about())


def _again(folded: Past, at: datetime, before: datetime | None) -> Iterator[ListedUnit]:
    """Give the units that were folded in memory, as they stand at a moment; those that fall due before another."""
    for story in folded.stories:
        if before is None or any(one.since < before for one in _overdue(story, at)):
            yield from (_listed(story, one) for one in story.intervals if one.since <= at < one.until)


def _listed(story: Story, one: Interval) -> ListedUnit:
    unit = story.folded.unit
    return ListedUnit(
        unit=unit.unit,
        tag=unit.tag,
        card=card_of(unit),
        since=one.since,
        until=None if one.until == FOREVER else one.until,
        site=one.site,
        model=one.model,
        phase=one.phase,
        in_scope=one.in_scope,
        standing=one.standing,
        do_not_use=one.do_not_use,
        rules=packed(one),
    )


def _overdue(story: Story, at: datetime) -> Iterator[Interval]:
    return (one for one in story.intervals if one.until > at and is_overdue(one))


def is_overdue(one: Interval) -> bool:
    """Say whether the thorough examination is overdue then."""
    return one.in_scope and int(one.rules[EXAMINATION]) >= OVERDUE


async def _due(question: Question, folded: Past, units: Iterable[UUID]) -> dict[UUID, datetime]:
    """Give of each unit the first moment of the question's or later at which its thorough examination is overdue.

    Where it is so already, it is the beginning of the unit's standing.
    """
    found: dict[UUID, datetime] = {}
    for stretch in await stretches(question, folded, question.as_at, FOREVER, units=units):
        if is_overdue(stretch.interval):
            found[stretch.unit] = min(stretch.interval.since, found.get(stretch.unit, FOREVER))
    return found


async def _formerly(question: Question, text: str) -> set[UUID]:
    """Name the units that once had a tag with the text in it, which no other unit has had since."""
    once = await former_tags(question.conn, question.organisation, text)
    drafts = await load_drafts(question.conn, question.organisation, kins={one.kin for one in once})
    found = (draft.stored(one.tag) for one in once for draft in drafts if draft.name == one.kin)
    return {folded.unit.unit for folded in found if folded is not None}


def _now(row: ListedUnit, due: datetime | None) -> dict[str, object]:
    """Give what a list of the units as they are now tells more: a card is as its unit was last folded."""
    card = msgspec.json.decode(row.card)
    return {"use": card["use"], "holder": card["holder"], "due": due}


def _line(row: ListedUnit) -> dict[str, object]:
    digits, reasons = unpacked(row.rules)
    return {
        "tag": row.tag,
        "model": row.model,
        "serial": msgspec.json.decode(row.card)["serial"],
        "site": row.site,
        "phase": row.phase,
        "in_scope": row.in_scope,
        "standing": row.standing,
        "do_not_use": row.do_not_use,
        "reasons": reasons,
        "since": row.since,
        "rules": {rule.name: SCALE[int(digit)] for rule, digit in zip(RULES, digits, strict=False) if digit.isdigit()},
    }
