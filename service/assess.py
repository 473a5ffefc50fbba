"""Assess: how units stand, as of one moment and with what had been recorded by another.

Every question is answered from one snapshot of the database and says which events it rests on.
"""

from datetime import datetime
from uuid import UUID

from service.assessing import consumption as spending
from service.assessing import devices as site_devices
from service.assessing import handed_on, log, refused, scans, stock_lists, units
from service.assessing import labels as unit_labels
from service.assessing import reference as definitions
from service.assessing.moment import asked
from service.assessing.named import demand_site
from service.assessing.nameless import without_names
from service.assessing.places import EVERYWHERE, Places, sites_of
from service.assessing.shelves import Wanted as Shelves
from service.assessing.summary import GroupedBy, Summed, summary
from service.domain.caller import Caller
from service.domain.current import Name
from service.domain.errors import BadParameter, Forbidden, NotFound
from service.domain.explain import explain, shown
from service.domain.rules import RULES
from service.domain.standing import BEGINNING, FOREVER
from service.ledger import Ledger
from service.outbound.epcis.names import Names
from service.page import Page, number
from service.store.rejected_messages import State

NAMES = "A key of this role reads records without names: leave 'holder' out."


async def compliance(
    ledger: Ledger,
    caller: Caller,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    places: Places = EVERYWHERE,
    model: str | None = None,
    group_by: GroupedBy | None = None,
) -> dict[str, object]:
    """Sum up all sites, or those named, and group the same numbers otherwise."""
    async with asked(ledger, caller, as_at, known_at) as question:
        sites = sites_of(question, caller, places)
        return await summary(question, Summed(sites=sites, model=model, group_by=group_by))


async def compliance_assets(
    ledger: Ledger,
    caller: Caller,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    places: Places,
    wanted: units.Wanted,
    after: str | None,
    limit: int,
) -> Page:
    """List the units behind the numbers of a summary. Raises BadParameter for a rule that there is not."""
    names = [known.name for known in RULES]
    if wanted.rule is not None and wanted.rule not in names:
        raise BadParameter("rule", f"There is no such rule; the rules are {', '.join(names)}.")
    async with asked(ledger, caller, as_at, known_at) as question:
        return await units.page(question, sites_of(question, caller, places), wanted, after, limit)


async def assets(
    ledger: Ledger, caller: Caller, *, places: Places, wanted: units.Wanted, after: str | None, limit: int
) -> Page:
    """List the units as they are now. Raises Forbidden for a holder asked after by a key that reads no names."""
    if wanted.holder is not None and without_names(caller):
        raise Forbidden(NAMES)
    async with asked(ledger, caller) as question:
        return await units.page(question, sites_of(question, caller, places), wanted, after, limit)


async def asset(
    ledger: Ledger, caller: Caller, tag: str, *, as_at: datetime | None, known_at: datetime | None
) -> dict[str, object]:
    """Show one unit."""
    async with asked(ledger, caller, as_at, known_at) as question:
        return await units.show(question, caller, tag)


async def history(
    ledger: Ledger,
    caller: Caller,
    tag: str,
    *,
    known_at: datetime | None,
    wanted: log.Told,
    after: str | None,
    limit: int,
) -> Page:
    """List the events of a unit in the order they happened."""
    async with asked(ledger, caller, None, known_at) as question:
        return await log.read_history(question, caller, tag, wanted, after=number(after), limit=limit)


async def history_handed_on(
    ledger: Ledger,
    caller: Caller,
    tag: str,
    *,
    names: Names,
    known_at: datetime | None,
    wanted: log.Told,
    after: str | None,
    limit: int,
) -> Page:
    """Give the events of a unit as EPCIS has them, to those who may read its history."""
    async with asked(ledger, caller, None, known_at) as question:
        found = await units.find(question, caller, tag)
        return handed_on.page(found, question, names, wanted, after=number(after), limit=limit)


async def standing(
    ledger: Ledger,
    caller: Caller,
    tag: str,
    *,
    since: datetime | None,
    until: datetime | None,
    known_at: datetime | None,
) -> dict[str, object]:
    """Give the standing of a unit over time, with the rules behind it."""
    async with asked(ledger, caller, None, known_at) as question:
        found = await units.find(question, caller, tag)
        explained = explain(found.unit.start, found.unit.facts, question.world)
        seqs = question.recall_seqs | {event: row.seq for event, row in found.rows.items()}
        intervals = shown(explained, since or BEGINNING, until or FOREVER, seqs)
        return {"asset": found.moment.unit.tag, "intervals": intervals, **question.about()}


async def event(ledger: Ledger, caller: Caller, event_id: UUID) -> dict[str, object]:
    """Give one event. Raises NotFound."""
    async with asked(ledger, caller) as question:
        found = await log.read_event(question, caller, event_id)
    if found is None:
        what = "event"
        raise NotFound(what)
    return found


async def devices(
    ledger: Ledger,
    caller: Caller,
    *,
    known_at: datetime | None,
    wanted: site_devices.Wanted,
    after: str | None,
    limit: int,
) -> Page:
    """List the devices that post events."""
    async with asked(ledger, caller, None, known_at) as question:
        return await site_devices.page(question, caller, wanted, after, limit)


async def scanned(ledger: Ledger, caller: Caller, said: tuple[str, ...], places: Places) -> dict[str, object]:
    """Tell of each scan what it says, and what of the things that the key sees it is."""
    async with asked(ledger, caller) as question:
        found = await scans.interpret(question, sites_of(question, caller, places), said)
        return {"scans": found, **question.about()}


async def label(ledger: Ledger, caller: Caller, tag: str) -> str:
    """Give the tag that the label of a unit shows: the one it has now. Raises NotFound."""
    async with asked(ledger, caller) as question:
        return await unit_labels.tag_now(question, caller.sites, tag)


async def labels(ledger: Ledger, caller: Caller, places: Places, wanted: unit_labels.Wanted) -> unit_labels.Tags:
    """Give the tags that the labels of units show. Raises NotFound for one that there is not."""
    async with asked(ledger, caller) as question:
        return await unit_labels.tags(question, sites_of(question, caller, places), wanted)


async def stock(
    ledger: Ledger,
    caller: Caller,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    places: Places,
    item: str | None,
    after: str | None,
    limit: int,
) -> Page:
    """List how much there is of each item at each site."""
    async with asked(ledger, caller, as_at, known_at) as question:
        wanted = Shelves(sites=sites_of(question, caller, places), item=item)
        return await stock_lists.levels_page(question, wanted, after, limit)


async def stock_ledger(
    ledger: Ledger,
    caller: Caller,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    wanted: stock_lists.Entries,
    after: str | None,
    limit: int,
) -> Page:
    """List what came, went and was counted of an item at a site, with the balance after each."""
    async with asked(ledger, caller, as_at, known_at) as question:
        demand_site(question, wanted.shelf.site)
        return await stock_lists.ledger_page(question, wanted, after, limit)


async def consumption(
    ledger: Ledger,
    caller: Caller,
    *,
    as_at: datetime | None,
    known_at: datetime | None,
    places: Places,
    spent: spending.Spent,
    after: str | None,
    limit: int,
) -> Page:
    """List what was used of each item at each site, period by period."""
    async with asked(ledger, caller, as_at, known_at) as question:
        return await spending.page(question, sites_of(question, caller, places), spent, after, limit)


async def rejected(ledger: Ledger, caller: Caller, *, after: str | None, limit: int, status: State | None) -> Page:
    """List the messages that were not accepted."""
    async with asked(ledger, caller) as question:
        return await refused.page(question, caller, after, limit, status)


async def rejected_one(ledger: Ledger, caller: Caller, rejected_id: UUID) -> dict[str, object]:
    """Show one message that was not accepted."""
    async with asked(ledger, caller) as question:
        return await refused.one(question, caller, rejected_id)


async def reference(ledger: Ledger, caller: Caller, kind: str, name: Name) -> tuple[dict[str, object], int]:
    """Give a definition and its version. Raises NotFound."""
    async with asked(ledger, caller) as question:
        return await definitions.one(question, kind, name, caller.sites)


async def reference_list(ledger: Ledger, caller: Caller, kind: str, *, after: str | None, limit: int) -> Page:
    """List the definitions of a sort."""
    async with asked(ledger, caller) as question:
        return await definitions.page(question, kind, caller.sites, after, limit)
