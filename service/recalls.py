"""Recalls: which there are, what each has done, and what one would do that nobody has opened.

Nothing is recorded here. A key bound to sites is told of the units and the stock of its sites alone, and of
those who had or wore units there, wherever those are now: that it is not told.
"""

from collections.abc import Iterable
from datetime import date, datetime
from functools import partial
from typing import cast
from uuid import UUID

import msgspec

from service.assessing import recalls
from service.assessing.aside import aside
from service.assessing.moment import Question, asked
from service.assessing.places import Places, sites_of
from service.assessing.reasons import counting, reasons_given
from service.assessing.recall_counts import counted
from service.assessing.recall_history import Telling, histories
from service.assessing.recall_notice import Notice, notice
from service.assessing.recall_reached import Impact, Reached, by_tag
from service.assessing.recall_told import RecallSaid, asks, by_site, line, said, whole
from service.assessing.recall_unknown import NotKnown, numbered_otherwise, undefined
from service.assessing.stock_history import stock_told
from service.domain.caller import Caller
from service.domain.errors import NotFound
from service.domain.kinds.recall_opened import Action, Criterion
from service.domain.recall.campaign import Campaign
from service.domain.recall.opening import criteria_standing, supposed
from service.domain.recall.people import exposed
from service.ledger import Ledger
from service.page import Page, number

RECALL = "recall"


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """When, at which site, and which of the units: those behind a key, so many."""

    as_at: datetime | None = None
    known_at: datetime | None = None
    site: str | None = None
    after: str | None = None
    limit: int = 100


class Supposed(msgspec.Struct, frozen=True, kw_only=True):
    """A recall that nobody has opened: what it would speak of, and what it would ask."""

    criteria: tuple[Criterion, ...]
    action: Action | None = None
    due_on: date | None = None


async def listed(
    ledger: Ledger,
    caller: Caller,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    after: str | None,
    limit: int,
) -> Page:
    """List the recalls by name."""
    async with asked(ledger, caller, as_at, known_at) as question:
        every = recalls.known(question)
        names = [name for name in sorted(every) if after is None or name > after]
        shown = await said(question, (every[name] for name in names[:limit]))
        more = len(names) > limit
        return Page(
            items=[msgspec.structs.asdict(one) for one in shown],
            next=names[limit - 1] if more else None,
            about=question.about(),
        )


async def impact(ledger: Ledger, caller: Caller, name: str, wanted: Wanted) -> Page:
    """Tell what a recall has done, with a page of the units it speaks of, by tag. Raises NotFound."""
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        campaign, found = await _impact(question, caller, name, wanted)
        (recall,) = await said(question, [campaign])
        measured = await _measured(question, caller, campaign, found, wanted)
        return await _page(question, recall, found, wanted, measured)


async def sites(ledger: Ledger, caller: Caller, name: str, wanted: Wanted) -> Page:
    """Count what a recall has done by site. Raises NotFound and BadCursor."""
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        _, found = await _impact(question, caller, name, wanted)
        told = await aside(len(found.units), lambda: by_site(counted(found).sites))
        return _rows(told, question, name, wanted)


async def people(ledger: Ledger, caller: Caller, name: str, wanted: Wanted) -> Page:
    """Tell who had or wore units while a recall spoke of them, over all units, wherever these are now.

    At the sites asked for. Raises NotFound and BadCursor.
    """
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        _, found = await _impact(question, caller, name, wanted)
        told = await aside(len(found.exposing), lambda: exposed(found.exposing, question.as_at))
        return _rows([msgspec.structs.asdict(one) for one in told], question, name, wanted)


async def stock(ledger: Ledger, caller: Caller, name: str, wanted: Wanted) -> Page:
    """List the spare stock that a recall speaks of. Raises NotFound and BadCursor."""
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        _, found = await _impact(question, caller, name, wanted)
        return _rows([msgspec.structs.asdict(one) for one in found.stock], question, name, wanted)


async def history(ledger: Ledger, caller: Caller, name: str, wanted: Wanted, telling: Telling) -> Page:
    """Give the events of all units of a recall, by tag, then those of its stock. Raises NotFound and BadCursor."""
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        _, found = await _impact(question, caller, name, wanted)
        criteria = criteria_standing(found.openings, question.as_at)
        stock = partial(stock_told, question, criteria, sites_of(question, caller, Places(site=wanted.site)))
        return await histories(question, found.units, stock, telling, after=wanted.after, limit=wanted.limit)


async def preview(ledger: Ledger, caller: Caller, what: Supposed, wanted: Wanted) -> Page:
    """Tell what a recall would speak of that was opened at the moment asked about."""
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        sites = sites_of(question, caller, Places(site=wanted.site))
        found = await recalls.impact(question, [supposed(what.criteria, question.as_at)], sites)
        recall = RecallSaid(action=what.action, due_on=what.due_on, criteria=what.criteria)
        return await _page(question, recall, found, wanted, found)


async def notices(ledger: Ledger, caller: Caller, name: str, wanted: Wanted) -> Notice:
    """Give what each site is told of a recall that has anything of it. Raises NotFound.

    One that is asked for is told so also where it has nothing, and so are those of a key that reads no others.
    """
    async with asked(ledger, caller, wanted.as_at, wanted.known_at) as question:
        campaign, found = await _impact(question, caller, name, wanted)
        (recall,) = await said(question, [campaign])
        reasons = await _reasons(question, campaign, found.units)
        reach = sites_of(question, caller, Places(site=wanted.site))
        told = [wanted.site] if wanted.site is not None else found.sites or sorted(reach or ())
        numbered = await numbered_otherwise(question, found)
        return await aside(len(found.units), lambda: notice(question, recall, found, told, reasons, numbered))


async def _impact(question: Question, caller: Caller, name: str, wanted: Wanted) -> tuple[Campaign, Impact]:
    """Find a recall and what it has done at the sites asked for. Raises NotFound."""
    campaign = recalls.known(question).get(name)
    if campaign is None:
        raise NotFound(RECALL)
    sites = sites_of(question, caller, Places(site=wanted.site))
    return campaign, await recalls.impact(question, campaign.openings, sites, campaign)


async def _measured(question: Question, caller: Caller, campaign: Campaign, found: Impact, wanted: Wanted) -> Impact:
    """Give what a rehearsal is measured by: what it had done when it was closed, since nothing is found in it later."""
    if not campaign.rehearsal or campaign.closing is None:
        return found
    ended = msgspec.structs.replace(question, as_at=campaign.closing.at)
    _, measured = await _impact(ended, caller, campaign.recall, wanted)
    return measured


def _rows(rows: list[dict[str, object]], question: Question, name: str, wanted: Wanted) -> Page:
    """Give the page of some rows that begins behind as many as its key says."""
    first = number(wanted.after)
    end = first + wanted.limit
    about = {**question.about(), RECALL: name}
    return Page(items=rows[first:end], next=str(end) if len(rows) > end else None, about=about)


async def _page(question: Question, recall: RecallSaid, found: Impact, wanted: Wanted, measured: Impact) -> Page:
    many, after = len(found.units), wanted.after
    keyed = await aside(many, lambda: [pair for pair in by_tag(found.units) if after is None or pair[0] > after])
    shown = keyed[: wanted.limit]
    told = await aside(many, partial(whole, question, recall, found, measured))
    nobody = await aside(many, partial(undefined, question, found, await numbered_otherwise(question, found)))
    unknown = (*nobody, *cast("Iterable[NotKnown]", told["unknown"]))
    reasons = await _reasons(question, found.campaign, (one for _, one in shown))
    return Page(
        items=[
            question.told(line(one, asks(one, recall, found.campaign), reasons.get(one.unit.unit))) for _, one in shown
        ],
        next=shown[-1][0] if len(keyed) > len(shown) else None,
        about={**told, "unknown": unknown},
    )


async def _reasons(question: Question, campaign: Campaign | None, units: Iterable[Reached]) -> dict[UUID, str | None]:
    """Give by unit why it was not dealt with, as far as the words are kept and for this reader."""
    given = await reasons_given(question, campaign)
    if not given:
        return {}
    found = {one.unit.unit: counting(given.get(one.unit.unit, ()), one.earliest) for one in units}
    wanted = {unit: reason for unit, reason in found.items() if reason is not None}
    texts = await question.texts({event for event, _ in wanted.values()})
    return {unit: texts.get(event, {}).get(path) for unit, (event, path) in wanted.items()}
