"""What becomes of a message and its webhook after an attempt. Pure: the moment and chance are given.

A failure is the *message's* where the receiver took it for wrong (4xx): others go on at once, the receiver counts as
well, and after a few attempts the message is a dead letter. Any other failure is the *receiver's*: it is away, too slow
or asks to be left alone, and rests, so that what would fail is not sent. It rests the steps of the schedule, but five
minutes at most, unless it asks for more: one message every five minutes tries it. After a fault of the *service* it
rests a moment, too; that is held against nobody.
"""

from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Final, NamedTuple
from uuid import UUID

import msgspec

from service.pushing.schedule import ATTEMPTS, Draw, pause
from service.pushing.sending import Answered
from service.store.deliveries import Delivery
from service.store.move_webhook import Moved

LONGEST_REST: Final = timedelta(minutes=5)
LONGEST_ASKED: Final = timedelta(hours=24)
"""A receiver may ask to be left alone as long as that."""
GIVEN_UP_AFTER: Final = timedelta(days=5)
"""How long a receiver may be at fault before its webhook is disabled; ours, not law."""
REFUSALS: Final = 5
"""After so many attempts, two to three hours, a message that is refused is a dead letter; ours, not law."""


class Before(NamedTuple):
    """What there was before an attempt: of the message its attempts, of the webhook how long it has failed."""

    seq: int
    event: UUID
    attempts: int
    first_at: datetime
    failures: int
    failing_since: datetime | None


def outcome(before: Before, answered: Answered, now: datetime, milliseconds: int, draw: Draw) -> tuple[Delivery, Moved]:
    """Say what becomes of the message and of its webhook."""
    attempts = before.attempts + 1
    waits = pause(attempts, draw)
    done = Delivery(
        seq=before.seq,
        event=before.event,
        state="delivered",
        attempts=attempts,
        first_at=before.first_at,
        last_at=now,
        next_at=None,
        status=answered.status,
        error=answered.error,
        milliseconds=milliseconds,
    )
    if answered.error is None:
        return done, Moved(delivered_at=now)
    moved = _failed(before, answered, now, draw)
    if waits is None or (_is_refused(answered) and attempts >= REFUSALS):
        return msgspec.structs.replace(done, state="dead"), moved
    return msgspec.structs.replace(done, state="waiting", next_at=now + max(waits, _asked(answered))), moved


def _failed(before: Before, answered: Answered, now: datetime, draw: Draw) -> Moved:
    """Say what a failure means for the webhook."""
    since = before.failing_since or now
    if answered.status == HTTPStatus.GONE:
        return Moved(failures=before.failures, failing_since=since, reason="gone")
    if answered.error == "service-failed":
        return Moved(failures=before.failures, failing_since=before.failing_since, rests_until=now + _rest(1, draw))
    if _is_refused(answered):
        return Moved()
    reason = "failing" if now - since >= GIVEN_UP_AFTER else None
    failures = min(before.failures + 1, ATTEMPTS)
    rest = max(_rest(failures, draw), _asked(answered))
    return Moved(failures=failures, failing_since=since, rests_until=now + rest, reason=reason)


def _is_refused(answered: Answered) -> bool:
    """Say whether the receiver has judged the message, which shows that it is well."""
    return answered.error == "refused" and answered.status != HTTPStatus.GONE


def _rest(failures: int, draw: Draw) -> timedelta:
    """Give how long to leave a webhook alone after so many failures in a row."""
    step = pause(failures, draw)
    return LONGEST_REST if step is None else min(step, LONGEST_REST)


def _asked(answered: Answered) -> timedelta:
    """Give how long the receiver asks to be left alone, within bounds."""
    return min(timedelta(seconds=answered.wait or 0), LONGEST_ASKED)
