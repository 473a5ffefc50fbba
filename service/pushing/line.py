"""The line of one webhook: one message at a time, in the order of the log, each attempt recorded before the next.

A process that holds the lease of a webhook has a line for it. A step takes or keeps the lease, which reads the webhook
as it is now, chooses the message that is due, sends it, and records what came of it. A process that is killed in
between has recorded nothing: another takes the lease once its time is over, and sends the message again.
"""

import asyncio
from collections.abc import Sequence
from datetime import datetime
from random import SystemRandom
from typing import Final, NamedTuple
from uuid import UUID

import structlog

from service.assessing.moment import asked
from service.domain.caller import Caller
from service.domain.errors import NotFound
from service.ledger import Ledger
from service.pushing.ahead import Ahead
from service.pushing.message import Message, sent_again, sent_first
from service.pushing.outcome import LONGEST_REST, Before, outcome
from service.pushing.outlet import Outlet, Sent
from service.pushing.places import Turn
from service.pushing.sending import Answered
from service.store.deliveries import Delivery
from service.store.errors import AWAY
from service.store.hold_webhook import hold_webhook
from service.store.lease_webhook import Leased, lease_webhook, let_go
from service.store.move_webhook import Moved, move_webhook
from service.store.next_delivery import NextDelivery, next_delivery
from service.store.record_delivery import record_delivery
from service.store.rest_webhook import rest_webhook
from service.store.scope import writing
from service.store.stop_webhook import stop_webhook
from service.store.webhooks import WebhookReason

MOST_WAITING: Final = 100
"""How many messages wait for a receiver that was at fault; with as many no new one is taken from the log."""
LEASES: Final = 2
"""How many times the longest attempt a lease lasts."""
NOT_WRITTEN: Final = Sent(Answered(error="service-failed"), 0)

log = structlog.get_logger()


class Name(NamedTuple):
    """Which webhook it is, of which organisation."""

    organisation: UUID
    webhook: UUID


class Pause(NamedTuple):
    """How many seconds there is nothing to do; less, where the log grows to a seq, or the line's turn to send comes."""

    seconds: float
    grows_to: int | None = None
    for_turn: bool = False


class Line:
    """One webhook at work in this process, which `by` names. `desks` are the connections that all lines share."""

    def __init__(self, ledger: Ledger, outlet: Outlet, desks: asyncio.Semaphore, by: UUID, name: Name) -> None:
        self.ledger, self.outlet, self.desks, self.by, self.name = ledger, outlet, desks, by, name
        self.nudged = asyncio.Event()
        self._ahead = Ahead()
        self._turn = Turn(outlet.places, name.organisation)
        self._chance = SystemRandom()

    async def run(self) -> None:
        """Work until the webhook is not for this process any more, or the service stops; then let others have it.

        Raises whatever was not foreseen; the webhook rests then.
        """
        try:
            while not self.ledger.heads.ended:
                self.nudged.clear()
                pause = await self.step()
                if pause is None:
                    return
                if not pause.for_turn:
                    self._turn.is_over()
                await self._rest(pause)
        except AWAY:
            raise
        except Exception:  # unforeseen: whatever it is, it is not begun again at once
            await self._leave_alone()
            raise
        finally:
            self._turn.is_over()
            async with self.desks, writing(self.ledger.pool, self.name.organisation) as conn:
                await let_go(conn, *self.name, by=self.by)

    async def step(self) -> Pause | None:
        """Do what is due; say how long nothing is, None where the webhook is not for this process."""
        now = self.ledger.clock()
        leased, due = await self._leased(now)
        if leased is None:
            return None
        secrets = self.outlet.secrets(self.name.organisation, leased, now)
        if leased.key_ended or not secrets:
            return await self._stop(leased, "key-ended" if leased.key_ended else "secret-lost")
        if leased.rests_until is not None and now < leased.rests_until:
            return Pause(self._at_most(leased.rests_until, now))
        try:
            message = await self._message(leased, due, now)
        except NotFound:
            return await self._stop(leased, "site-unseen")
        return self._idle(due, now) if message is None else await self._attempt(leased, secrets, message)

    async def _attempt(self, leased: Leased, secrets: Sequence[bytes], message: Message) -> Pause | None:
        """Send a message, if the line's turn to send has come, and record what came of it."""
        if not await self._turn.has_come():
            return self._put_back(message)
        sent = NOT_WRITTEN
        if message.body is not None:
            name = str(message.row.event.id)
            sent = await self.outlet.send(self.name.organisation, leased.url, secrets, name, message.body)
        self._turn.is_over()
        before = Before(
            seq=message.row.seq,
            event=message.row.event.id,
            attempts=message.attempts,
            first_at=message.first_at,
            failures=leased.failures,
            failing_since=leased.failing_since,
        )
        delivery, moved = outcome(before, sent.answered, self.ledger.clock(), sent.milliseconds, self._chance.random)
        kept = await self._record(delivery, moved, leased.version, 0 if message.again else message.row.seq)
        if sent.answered.error is not None:
            self._ahead.forget()
        self._tell(delivery, kept=kept)
        return Pause(0.0) if kept else None

    async def _record(self, delivery: Delivery, moved: Moved, version: int, passed: int) -> bool:
        """Record an attempt; of a webhook that was changed meanwhile it says nothing. False where the lease is lost."""
        async with self.desks, writing(self.ledger.pool, self.name.organisation) as conn:
            told = await move_webhook(conn, *self.name, moved, by=self.by, version=version, passed=passed)
            kept = told or await hold_webhook(conn, *self.name, by=self.by)
            if kept:
                await record_delivery(conn, *self.name, delivery)
        return kept

    async def _leased(self, now: datetime) -> tuple[Leased | None, NextDelivery | None]:
        """Take or keep the lease, and see what is to be sent again next."""
        async with self.desks, writing(self.ledger.pool, self.name.organisation) as conn:
            seconds, ahead = LEASES * self.outlet.way.seconds, self._ahead
            leased = await lease_webhook(
                conn, *self.name, by=self.by, seconds=seconds, now=now, version=ahead.version, passed=ahead.passed
            )
            if leased is None:
                return None, None
            ahead.start_from(leased)
            return leased, await next_delivery(conn, *self.name, MOST_WAITING)

    async def _message(self, leased: Leased, due: NextDelivery | None, now: datetime) -> Message | None:
        """Choose what is sent: what is to be sent again by now, else the next of the log if there is room for it."""
        sites = None if leased.sites is None else frozenset(leased.sites)
        caller = Caller(organisation=self.name.organisation, key=leased.key, role=leased.role, sites=sites)
        again = due if due is not None and due.next_at <= now else None
        if again is None and (_is_full(due) or self._ahead.waits(self._time())):
            return None
        async with self.desks, asked(self.ledger, caller) as question:
            if again is not None:
                return await sent_again(question, again)
            return await sent_first(question, caller, leased, self._ahead, now=now, time=self._time())

    def _put_back(self, message: Message) -> Pause:
        """Choose anew when the line's turn has come: by then the webhook may be changed, or a text be erased."""
        if not message.again:
            self._ahead.go_back(message.row.seq)
        return Pause(self.outlet.way.seconds, for_turn=True)

    def _idle(self, due: NextDelivery | None, now: datetime) -> Pause:
        """Say until when there is nothing to do."""
        seconds = self._at_most(None if due is None else due.next_at, now)
        if _is_full(due):
            return Pause(seconds)
        if waits := self._ahead.waits(self._time()):
            return Pause(min(seconds, waits))
        return Pause(seconds, self._ahead.passed + 1) if self._ahead.is_at_end else Pause(0.0)

    def _at_most(self, until: datetime | None, now: datetime) -> float:
        """Give the seconds until a moment, or until the lease is to be kept."""
        kept = self.outlet.way.seconds
        return kept if until is None else min(kept, max(0.0, (until - now).total_seconds()))

    async def _rest(self, pause: Pause) -> None:
        """Wait so long, or until the log has grown, or somebody has changed what there is to do."""
        waits: list[asyncio.Task[bool]] = [asyncio.create_task(self.nudged.wait())]
        turn = () if self._turn.coming is None else (self._turn.coming,)
        if pause.grows_to is not None:
            reached = self.ledger.heads.reach(self.ledger.pool, self.name.organisation, pause.grows_to, pause.seconds)
            waits.append(asyncio.create_task(reached))
        try:
            await asyncio.wait((*waits, *turn), timeout=pause.seconds, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for waiting in waits:
                waiting.cancel()
            await asyncio.gather(*waits, return_exceptions=True)

    async def _leave_alone(self) -> None:
        """Have the webhook rest, in whichever process."""
        until = self.ledger.clock() + LONGEST_REST
        async with self.desks, writing(self.ledger.pool, self.name.organisation) as conn:
            await rest_webhook(conn, *self.name, by=self.by, until=until)

    async def _stop(self, leased: Leased, reason: WebhookReason) -> Pause | None:
        """Disable the webhook, unless somebody has changed it meanwhile: then there may be something to do."""
        async with self.desks, writing(self.ledger.pool, self.name.organisation) as conn:
            stopped = await stop_webhook(conn, *self.name, by=self.by, version=leased.version, reason=reason)
        if not stopped:
            return Pause(0.0)
        log.warning(
            "webhook stopped", organisation=str(self.name.organisation), webhook=str(self.name.webhook), reason=reason
        )
        return None

    def _tell(self, delivery: Delivery, *, kept: bool) -> None:
        """Write the attempt into the log: nothing of what was sent, nor of where it went."""
        log.info(
            "webhook",
            organisation=str(self.name.organisation),
            webhook=str(self.name.webhook),
            seq=delivery.seq,
            became=delivery.state if kept else "unrecorded",
            attempts=delivery.attempts,
            status=delivery.status,
            error=delivery.error,
            milliseconds=delivery.milliseconds,
        )

    def _time(self) -> float:
        return asyncio.get_running_loop().time()


def _is_full(due: NextDelivery | None) -> bool:
    """Say whether as many messages wait as may."""
    return due is not None and due.holding >= MOST_WAITING
