"""The log as it is shown: events with their texts, in the order of recording or of happening."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.assessing.units import Found, find
from service.domain.caller import Caller
from service.domain.codec import encode, reveal
from service.domain.conflict import Contradiction
from service.domain.event import AssetEvent, Event
from service.domain.facts import Fact, fold_key, instant
from service.domain.fold import fold
from service.domain.kinds.voided import Voided
from service.domain.placing import place_all
from service.domain.recorded import Recorded
from service.domain.suspicion import clock_doubts, doubts, good_moments
from service.domain.voiding import every_voiding, voidings
from service.domain.world import World
from service.page import Page
from service.recording.deciding import CONFLICTS
from service.recording.loading import flagged
from service.recording.showing import conflicts_now
from service.store.event_by_id import event_by_id


async def shown(question: Question, rows: Iterable[Recorded]) -> list[dict[str, object]]:
    """Give events as answers show them: as they were posted, with what the service added."""
    every = list(rows)
    texts = await question.texts(row.event.id for row in every)
    return question.told([_event(row, texts.get(row.event.id, {})) for row in every])


def _event(row: Recorded, texts: dict[str, str]) -> dict[str, object]:
    said: dict[str, object] = msgspec.json.decode(encode(reveal(row.event, texts)))
    return {
        "seq": row.seq,
        "recorded_at": row.recorded_at,
        "received_at": row.received_at,
        "sent_at": row.sent_at,
        **said,
    }


def readable(row: Recorded, caller: Caller) -> bool:
    """Say whether a key may read an event: one bound to sites reads those of its sites."""
    return caller.sites is None or (row.event.site is not None and row.event.site in caller.sites)


async def read_event(question: Question, caller: Caller, event: UUID) -> dict[str, object] | None:
    """Give one event, or None where the key may not read it."""
    stored = await event_by_id(question.conn, question.organisation, event)
    if stored is None or not readable(stored.recorded, caller):
        return None
    told = (await shown(question, [stored.recorded]))[0]
    conflicts = await conflicts_now(
        question.conn,
        question.organisation,
        stored.recorded.event,
        CONFLICTS.decode(stored.conflicts),
        question.as_at,
        caller.sites,
    )
    row = await flagged(question.conn, question.organisation, stored.recorded, question.world, question.judged_to)
    return {**told, "conflicts": conflicts, "time_doubts": list(clock_doubts(row, question.world))}


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """Which events of a history: of a kind, and with a place in the order of truth in [since, until)."""

    kind: str | None = None
    since: datetime | None = None
    until: datetime | None = None

    def holds(self, event: Event, at: datetime) -> bool:
        """Say whether an event that counts at a moment is wanted."""
        late_enough = self.since is None or at >= self.since
        return self.kind in {None, event.kind} and late_enough and (self.until is None or at < self.until)


async def read_history(question: Question, caller: Caller, tag: str, wanted: Told, *, after: int, limit: int) -> Page:
    """Give the events of a unit in the order they happened, with the conflicts of the whole history."""
    found = await find(question, caller, tag)
    some = await history_of(question, found, wanted, after=after, limit=limit)
    return Page(items=some.items, next=str(after + limit) if some.more else None, about=question.about())


class Some(NamedTuple):
    """What tells of so many of a unit's events, and whether there are more."""

    items: list[dict[str, object]]
    events: int
    more: bool


async def history_of(question: Question, found: Found, wanted: Told, *, after: int, limit: int) -> Some:
    """Give so many of a unit's events after the first ones."""
    events = events_of(found, question, wanted)
    conflicts = [*found.prepared.conflicts, *fold(found.unit.start, found.unit.facts, question.world).conflicts]
    told = await shown(question, events.rows[after : after + limit])
    doubted = _doubted(found, events.facts, question.world)
    items = [
        _line(one, row, conflicts, events.taken_back, doubted)
        for one, row in zip(told, events.rows[after:], strict=False)
    ]
    return Some(items, len(items), len(events.rows) > after + limit)


class Events(NamedTuple):
    """Events of a unit: the facts that count, the rows that are wanted, in order, and what takes events back."""

    facts: list[Fact]
    rows: list[Recorded]
    taken_back: dict[UUID, Recorded]


def events_of(found: Found, question: Question, wanted: Told) -> Events:
    """Give a unit's events in the order they happened; after them those taken back, and last what takes them back."""
    facts = _counted(found, question.world)
    taken_back = voidings(found.rows.values())
    rows = [fact.recorded for fact in facts]
    listed = {row.event.id for row in rows}
    struck = _struck(found, question, set(taken_back))
    rows += [row for row in found.rows.values() if row.event.id in struck - listed]
    listed |= struck
    rows += [row for row in found.rows.values() if isinstance(row.event, Voided) and row.event.event in listed]
    site = found.moment.unit.site
    kept = [row for row in rows if wanted.holds(row.event, instant(row.event, site, question.world))]
    return Events(facts, kept, taken_back)


def _counted(found: Found, world: World) -> list[Fact]:
    """Give the unit's events that count, in order: those before its registration, too, which its fold begins with."""
    rows = list(found.rows.values())
    facts = place_all(rows, every_voiding(rows), world).facts[found.unit.start.unit.unit]
    return sorted(facts, key=lambda fact: fact.key)


def _struck(found: Found, question: Question, taken_back: set[UUID]) -> set[UUID]:
    """Name the unit's events that were taken back and count no more: those of its tags while they meant it."""
    names = found.prepared.owners
    events = {row.event.id: row.event for row in found.rows.values() if row.event.id in taken_back}
    mine = found.unit.start.unit.unit
    identity = place_all(list(found.rows.values()), {}, question.world).identity
    return {
        ident
        for ident, event in events.items()
        if isinstance(event, AssetEvent) and event.asset in names
        if identity.unit(event.asset, fold_key(event, instant(event, None, question.world))) == mine
    }


def _doubted(found: Found, facts: Sequence[Fact], world: World) -> dict[UUID, list[str]]:
    """Say what speaks against the moments of events: of those that count no more, what their messages say alone."""
    by_message = {row.event.id: list(clock_doubts(row, world)) for row in found.rows.values()}
    good, registered_at = good_moments(facts), found.moment.unit.registered_at
    return by_message | {fact.event.id: list(doubts(fact, good, registered_at, world)) for fact in facts}


def _line(
    told: dict[str, object],
    row: Recorded,
    conflicts: Sequence[Contradiction],
    taken_back: dict[UUID, Recorded],
    doubted: dict[UUID, list[str]],
) -> dict[str, object]:
    voiding = taken_back.get(row.event.id)
    return {
        **told,
        "conflicts": [found.conflict for found in conflicts if found.event == row.event.id],
        "voided_by": None if voiding is None else voiding.event.id,
        "time_doubts": doubted[row.event.id],
    }
