"""Campaign: order the units that a recall bears on out of use, one event each, however often it is asked for.

Load, decide, append: what a recall bears on is found in one snapshot; who is not held for it yet is ordered out of use
by the ordinary way of recording. The name of each event follows from what it orders, so a retry, a crash in the middle
and two managers at once give each unit one. Ordered is not put away: that is told by whoever has the unit (design 3.5).
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Annotated, Final
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
from service.domain.recall.stopping import Skipped, order_id, stopping
from service.domain.unit import Unit
from service.domain.words import Ref, Text
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

    `receipts` are those of the events.
    """

    recall: str
    quarantined: int
    already: int
    skipped: tuple[Skipped, ...]
    left: int
    receipts: tuple[Receipt, ...]


class Done(msgspec.Struct, frozen=True):
    """What became of orders so far; `held` units were held by another's order before ours was made."""

    receipts: tuple[Receipt, ...] = ()
    skipped: tuple[Skipped, ...] = ()
    held: int = 0

    @property
    def taken(self) -> list[Receipt]:
        """Give the receipts of those that were taken; what another ordered meanwhile is held already."""
        return [receipt for receipt in self.receipts if receipt.outcome is not None]


async def quarantine(ledger: Ledger, caller: Caller, recall: str, order: Order) -> Ordered:
    """Order the next units out of use that a recall bears on at the caller's sites and that are not held for it.

    Where an order is not taken the next unit has its place, so that nothing at the head keeps the rest waiting.

    Raises NotFound, RecallNotOpen, and Malformed where more is ordered than the recall asks and nobody says why. Raises
    Unavailable as `record` does; what was recorded by then is passed over when it is asked for again.
    """
    async with asked(ledger, caller) as question:
        openings = _standing(question, recall, order)
        found = stopping(await affected(question, openings, caller.sites), recall)
    done, queue = Done(), found.to_stop
    while queue and len(done.taken) < order.limit:
        room = order.limit - len(done.taken)
        some, queue = queue[:room], queue[room:]
        done = await _ordered(ledger, caller, openings, order, some, done)
    return Ordered(
        recall=recall,
        quarantined=sum(receipt.outcome == "recorded" for receipt in done.taken),
        already=found.already + done.held + sum(receipt.outcome == "repeated" for receipt in done.taken),
        skipped=(*found.skipped, *done.skipped),
        left=len(queue),
        receipts=done.receipts,
    )


async def _ordered(
    ledger: Ledger, caller: Caller, openings: Sequence[Opening], order: Order, units: Sequence[Unit], done: Done
) -> Done:
    """Order units out of use, but for those whose tag means another unit: the order would stop that one.

    Who is held by now and which names are free is read in one snapshot: what another ordered meanwhile is no order of
    ours, and has its name.
    """
    recall = openings[0].recall
    async with asked(ledger, caller) as question:
        still = {unit.unit for unit in stopping(await affected(question, openings, caller.sites), recall).to_stop}
        owners = await units_meant(question, {unit.tag for unit in units})
        mine = [unit for unit in units if unit.unit in still and owners.get(unit.tag) == unit.unit]
        names, at = await _names(question, recall, mine), question.position.now
    held = sum(unit.unit not in still for unit in units)
    sender = Sender(key=caller.key, role=caller.role, sites=caller.sites, received_at=at, sent_at=None)
    receipts: list[Receipt] = []
    for batch in _batches([_event(order, recall, one, names[one.unit], at) for one in mine], sender):
        receipts += await record_all(ledger, caller.organisation, batch)
    others = [
        Skipped(unit.tag, "tag-of-another")
        for unit in units
        if unit.unit in still and owners.get(unit.tag) != unit.unit
    ]
    refused = [unit.tag for unit, receipt in zip(mine, receipts, strict=True) if receipt.outcome is None]
    skipped = (*done.skipped, *others, *(Skipped(tag, "not-accepted") for tag in refused))
    return Done((*done.receipts, *receipts), skipped, done.held + held)


def _standing(question: Question, recall: str, order: Order) -> Sequence[Opening]:
    """Give the openings that units are ordered out of use by: those in earnest that nobody took back and that ask it.

    Where none asks it somebody says why, and all of them count.
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
    if campaign.action != "stop-use" and not (order.remark or "").strip():
        raise Malformed("/remark", f"This recall asks for {campaign.action!r}: say why its units are to be stopped.")
    asking = [one for one in campaign.standing if one.action == "stop-use"]
    return asking or campaign.standing


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
