"""Campaign: order the units that a recall bears on out of use, one event each, however often it is asked for.

Load, decide, append: what a recall bears on is found in one snapshot; who is not held for it yet is ordered out of use
by the ordinary way of recording. The name of each event follows from what it orders, so a retry, a crash in the middle
and two managers at once give each unit one. Ordered is not put away: that is told by whoever has the unit (design 3.5).
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Annotated, Final, NamedTuple
from uuid import UUID

import msgspec
from msgspec import Meta

from service.assessing.affected import affected
from service.assessing.moment import Question, asked
from service.assessing.recalls import known
from service.assessing.tags import units_meant
from service.domain.caller import Caller
from service.domain.codec import encode
from service.domain.errors import Malformed, NotFound, RecallNotOpen
from service.domain.kinds.quarantined import Quarantined
from service.domain.recall.opening import Opening
from service.domain.recall.stopping import Skipped, Stopping, order_id, stopping
from service.domain.unit import Unit
from service.domain.words import Ref, Text, says_something
from service.gathering import MOST_TOGETHER
from service.ledger import Ledger
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Read, Receipt, Sender
from service.store.events_by_ids import events_by_ids

RECALL: Final = "recall"
USUAL: Final = 500
MOST: Final = 1_000


class Order(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Who orders the units out of use, why, and how many of them at most in one request."""

    by: Ref
    remark: Text | None = None
    limit: Annotated[int, Meta(ge=1, le=MOST)] = USUAL


class Ordered(msgspec.Struct, frozen=True, kw_only=True):
    """How many units were stopped now, and before, which were passed over, and how many are left for the next request.

    Of those `asked_less` of by other openings of the recall alone none is stopped. `receipts` are those of the events.
    """

    recall: str
    quarantined: int
    already: int
    skipped: tuple[Skipped, ...]
    left: int
    asked_less: int
    receipts: tuple[Receipt, ...]


class _Look(NamedTuple):
    """What one snapshot tells: units to be ordered now and those left for later, the orders, and who is passed over.

    `asked_less` units come only under openings that do not ask for it.
    An order is at the place of its unit; None where the unit's tag means another unit, which the order would stop.
    """

    found: Stopping
    units: tuple[Unit, ...]
    rest: tuple[Unit, ...]
    orders: tuple[Quarantined | None, ...]
    at: datetime
    asked_less: int


async def quarantine(ledger: Ledger, caller: Caller, recall: str, order: Order) -> Ordered:
    """Order the next units out of use that a recall bears on at the caller's sites and that are not held for it.

    Where an order is not taken the next unit has its place, so that nothing at the head keeps the rest waiting.

    Raises NotFound, RecallNotOpen, and Malformed where more is ordered than the recall asks and nobody says why. Raises
    Unavailable as `record` does; what was recorded by then is passed over when it is asked for again.
    """
    look = await _look(ledger, caller, recall, order, order.limit)
    asked_less, receipts = look.asked_less, list[Receipt]()
    already, skipped = look.found.already, list(look.found.skipped)
    while look.units:
        given = await _given(ledger, caller, look)
        receipts += given.values()
        skipped += _passed_over(look, given)
        room = order.limit - sum(one.outcome is not None for one in receipts)
        if not room or not look.rest:
            break
        waited = look.rest
        look = await _look(ledger, caller, recall, order, room, among={unit.unit for unit in waited})
        already += len(waited) - len(look.units) - len(look.rest)
    return Ordered(
        recall=recall,
        quarantined=sum(one.outcome == "recorded" for one in receipts),
        already=already + sum(one.outcome == "repeated" for one in receipts),
        skipped=tuple(skipped),
        left=len(look.rest),
        asked_less=asked_less,
        receipts=tuple(receipts),
    )


async def _look(
    ledger: Ledger, caller: Caller, recall: str, order: Order, room: int, among: Collection[UUID] | None = None
) -> _Look:
    """Find the next units, among some, and write their orders.

    All in one snapshot: were the free names read in a later one, what another ordered in between would be ordered anew.
    """
    async with asked(ledger, caller) as question:
        openings, others = _standing(question, recall, order)
        under = await affected(question, openings, caller.sites)
        less = await affected(question, others, caller.sites) if others else []
        found = stopping(under, recall)
        queue = tuple(unit for unit in found.to_stop if among is None or unit.unit in among)
        owners = await units_meant(question, {unit.tag for unit in queue[:room]})
        meant = [unit for unit in queue[:room] if owners.get(unit.tag) == unit.unit]
        names, at = await _names(question, recall, meant), question.position.now
    orders = tuple(
        _event(order, recall, unit, names[unit.unit], at) if unit.unit in names else None for unit in queue[:room]
    )
    stopped = {one.unit for one in under}
    asked_less = stopping((unit for unit in less if unit.unit not in stopped), recall).to_stop
    return _Look(found, queue[:room], queue[room:], orders, at, len(asked_less))


async def _given(ledger: Ledger, caller: Caller, look: _Look) -> dict[str, Receipt]:
    """Give the orders, and their receipts by tag."""
    sender = Sender(key=caller.key, role=caller.role, sites=caller.sites, received_at=look.at, sent_at=None)
    orders = [one for one in look.orders if one is not None]
    receipts: list[Receipt] = []
    for batch in _batches(orders, sender):
        receipts += await record_all(ledger, caller.organisation, batch)
    return {one.asset: receipt for one, receipt in zip(orders, receipts, strict=True)}


def _passed_over(look: _Look, given: Mapping[str, Receipt]) -> Iterator[Skipped]:
    """Name the units that were not stopped, and why."""
    for unit, one in zip(look.units, look.orders, strict=True):
        if one is None:
            yield Skipped(unit.tag, "tag-of-another")
        elif given[one.asset].outcome is None:
            yield Skipped(unit.tag, "not-accepted")


def _standing(question: Question, recall: str, order: Order) -> tuple[Sequence[Opening], Sequence[Opening]]:
    """Give the openings that units are ordered out of use by: those in earnest that nobody took back and that ask it.

    Where none asks it somebody says why, and all of them count. The others, which ask less, are given besides.
    """
    campaign = known(question).get(recall)
    if campaign is None:
        raise NotFound(RECALL)
    if campaign.rehearsal:
        raise RecallNotOpen(recall, "rehearsal")
    if campaign.voided_at is not None:
        raise RecallNotOpen(recall, "voided")
    if campaign.closing is not None:
        raise RecallNotOpen(recall, "closed")
    action = campaign.most.action
    if action != "stop-use" and not says_something(order.remark or ""):
        raise Malformed("/remark", f"This recall asks for {action!r}: say why its units are to be stopped.")
    asking = [one for one in campaign.standing if one.action == "stop-use"]
    return (asking, [one for one in campaign.standing if one not in asking]) if asking else (campaign.standing, ())


async def _names(question: Question, recall: str, units: Sequence[Unit]) -> dict[UUID, UUID]:
    """Give the name of each unit's order, by unit: the first that is not in the log yet.

    What was ordered before is over where a unit is not held any more.
    """
    nth = dict.fromkeys((one.unit for one in units), 0)
    while True:
        names = {unit: order_id(question.organisation, recall, unit, number) for unit, number in nth.items()}
        taken = await events_by_ids(question.conn, question.organisation, names.values())
        if not taken:
            return names
        nth = {unit: number + (names[unit] in taken) for unit, number in nth.items()}


def _event(order: Order, recall: str, unit: Unit, name: UUID, at: datetime) -> Quarantined:
    """Say that a unit is out of use, at its own site, with no place: nobody has put it away yet."""
    return Quarantined(
        id=name,
        occurred_at=at,
        by=order.by,
        site=unit.site,
        remark=order.remark,
        asset=unit.tag,
        reason="recall",
        recall=recall,
    )


def _batches(events: Sequence[Quarantined], sender: Sender) -> Iterator[list[Read]]:
    """Give the messages as many at a time as are recorded together."""
    for first in range(0, len(events), MOST_TOGETHER):
        yield [
            Read(incoming=Incoming(raw=encode(event), sender=sender, ordered=True), event=event)
            for event in events[first : first + MOST_TOGETHER]
        ]
