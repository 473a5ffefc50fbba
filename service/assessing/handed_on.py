"""Histories handed on: a unit's events as EPCIS has them, with what was known of the unit at each."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from uuid import UUID

from msgspec.structs import astuple, replace

from service.assessing.log import Events, Some, Told, events_of
from service.assessing.moment import Question
from service.assessing.units import Found
from service.domain.event import AssetEvent, StockEvent
from service.domain.facts import Fact, instant, place
from service.domain.intervals import MOMENT
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_identified import PartIdentified
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.retagged import Retagged
from service.domain.part import PlacedPart, RemovedPart
from service.domain.parts_told import taken_out
from service.domain.placing import place_all
from service.domain.proof import proof, withdraws
from service.domain.recorded import Recorded
from service.domain.unit import Fitted, Unit
from service.domain.view import steps
from service.domain.world import World
from service.outbound.epcis.act import Act
from service.outbound.epcis.drawn import drawn
from service.outbound.epcis.names import Names
from service.outbound.epcis.parts import items
from service.page import Page

Json = dict[str, object]
EVERYTHING = Told()
WITHOUT_EFFECT = "own-adverse-event"
"""The conflict of a voiding that takes nothing back (R27)."""


def page(found: Found, question: Question, names: Names, wanted: Told, *, after: int, limit: int) -> Page:
    """Give a page of a unit's history: of so many events of ours, each with all that tell of it."""
    told = some(found, question, names, wanted, after=after, limit=limit)
    return Page(items=told.items, next=str(after + limit) if told.more else None, about=question.about())


def some(found: Found, question: Question, names: Names, wanted: Told = EVERYTHING, *, after: int, limit: int) -> Some:
    """Give what tells of so many of a unit's events after the first ones."""
    acts = list(acts_of(found, question, wanted))
    shown = acts[after : after + limit]
    return Some([event for act in shown for event in drawn(act, names)], len(shown), len(acts) > after + limit)


def acts_of(found: Found, question: Question, wanted: Told = EVERYTHING) -> Iterator[Act]:
    """Give what a unit's events are drawn from, in the order of its history."""
    events, world = events_of(found, question, wanted), question.world
    struck = _struck(events, found)
    facts = {fact.event.id: fact for fact in events.facts}
    aside = _aside(found, [row for row in events.rows if row.event.id not in facts], world)
    facts |= {fact.event.id: fact for fact in aside}
    changes = _changes(found, aside, world)
    first = found.unit.start.unit
    for row in events.rows:
        if isinstance(row.event, AssetEvent):
            fact = facts[row.event.id]
            before, after = changes.get(row.event.id, (first, first))
            yield _of_unit(fact, before, _in_full(row, after), struck.get(row.event.id), world)


def of_stock(row: Recorded, world: World, voided_at: datetime | None = None) -> Act:
    """Give what an event of stock is drawn from."""
    event = row.event
    if not isinstance(event, StockEvent):
        raise TypeError(event.kind)
    at = instant(event, None, world)
    return Act(
        recorded=row,
        at=_local(row, at, event.site, world),
        site=event.site,
        voided_at=voided_at,
        gtins=_gtins(items(event), at, world),
    )


def _of_unit(fact: Fact, before: Unit, told: Recorded, voided_at: datetime | None, world: World) -> Act:
    site, carried = fact.event.site or before.site, _carried(fact.event, before)
    named = {*items(told.event), *(one.part.item for one in carried)}
    gtins, sat = _gtins(named, fact.as_of, world), before.parts.items() if named else ()
    return Act(
        recorded=told,
        at=_local(fact.recorded, fact.at, site, world),
        site=site,
        unit=before.unit,
        outcome=proof(fact, before, world),
        withdraws=withdraws(fact, before, world),
        voided_at=voided_at,
        carried=carried,
        gtins=gtins,
        put_in={position: dict(_put_in(one, gtins, world)) for position, one in sat},
    )


def _carried(event: AssetEvent, before: Unit) -> tuple[PlacedPart, ...]:
    """Give what is known to sit in a unit as it gets another tag, or in a position as it is looked at."""
    match event:
        case Retagged():
            sits = sorted(before.parts.items())
        case PartIdentified(position=position):
            sits = [(place, one) for place, one in before.parts.items() if place == position]
        case _:
            return ()
    return tuple(PlacedPart(position=position, part=one.part) for position, one in sits if one.part is not None)


def _in_full(row: Recorded, after: Unit) -> Recorded:
    """Let what an event says of a part that it took out be all that is known of it: it was put in by another name."""
    event, out = row.event, taken_out(row.event)
    if not isinstance(event, FilterReplaced | PartReplaced) or out is None or not any(astuple(out)):
        return row
    there = after.parts.get(event.position)
    known = there.took_out if there is not None and there.event == event.id else None
    if known is None:
        return row
    return replace(row, event=replace(event, out=RemovedPart(item=known.item, lot=known.lot, serial=known.serial)))


def _aside(found: Found, rows: Iterable[Recorded], world: World) -> list[Fact]:
    """Place what was taken back and counts no more where it was before: it is told as it was."""
    back = [row for row in rows if isinstance(row.event, AssetEvent)]
    if not back:
        return []
    once = place_all(list(found.rows.values()), {}, world).facts.get(found.unit.start.unit.unit, ())
    known = {fact.event.id: fact for fact in once}
    return [known.get(row.event.id) or place(row, found.moment.unit.site, world) for row in back]


def _changes(found: Found, aside: Iterable[Fact], world: World) -> dict[UUID, tuple[Unit, Unit]]:
    """Give the unit before and after each of its events; an echo is the same event again."""
    return {
        step.fact.event.id: (step.before, step.after)
        for step in steps(found.unit.start, found.unit.facts, world, aside)
        if isinstance(step.fact, Fact) and not step.fact.echo
    }


def _local(row: Recorded, at: datetime, site: str, world: World) -> datetime:
    """Give the moment by the sender's clock on the wall, of a day alone by that of the site.

    What counts at the end of a day is told by the last moment of it: the end itself is written as the next day.
    """
    event = row.event
    within = at if event.adverse() else at - MOMENT
    return event.occurred_at or within.astimezone(world.zone_on(site, event.occurred_on or at.date()))


def _gtins(named: Iterable[str], at: datetime, world: World) -> dict[str, str]:
    defined = ((item, world.rulebook.item(item, at)) for item in named)
    return {item: one.gtin for item, one in defined if one is not None and one.gtin is not None}


def _put_in(sits: Fitted, gtins: Mapping[str, str], world: World) -> Iterator[tuple[str, str]]:
    """Give GTINs, that of what sits somewhere as its item had it when it was put in, or last named."""
    item = None if sits.part is None else sits.part.item
    yield from ((other, gtin) for other, gtin in gtins.items() if other != item)
    if item is not None:
        yield from _gtins([item], sits.named_at or sits.day or sits.at, world).items()


def _struck(events: Events, found: Found) -> dict[UUID, datetime]:
    """Give when each event was taken back, but for voidings that take nothing back."""
    useless = {one.event for one in found.prepared.conflicts if one.conflict.code == WITHOUT_EFFECT}
    return {
        event: voiding.recorded_at for event, voiding in events.taken_back.items() if voiding.event.id not in useless
    }
