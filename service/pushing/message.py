"""The message that is due: what is to be sent again by now, else the next of the log."""

from datetime import datetime
from typing import NamedTuple

import structlog

from service.assessing.log import shown
from service.assessing.moment import Question
from service.domain.caller import Caller
from service.domain.recorded import Recorded
from service.pushing.ahead import Ahead
from service.pushing.cloud_event import cloud_event
from service.store.errors import AWAY
from service.store.feed import feed
from service.store.lease_webhook import Leased
from service.store.next_delivery import NextDelivery

log = structlog.get_logger()


class Message(NamedTuple):
    """An event to be sent, as it goes out, and what is known of its earlier attempts; `again`: there were any.

    The body is None where the service failed to write it.
    """

    row: Recorded
    body: bytes | None
    attempts: int
    first_at: datetime
    again: bool


async def sent_again(question: Question, due: NextDelivery) -> Message:
    """Read what is to be sent again."""
    (stored,) = await feed(question.conn, question.organisation, after=due.seq - 1, until=due.seq, limit=1)
    body = await _written(question, stored.recorded)
    return Message(stored.recorded, body, due.attempts, due.first_at, again=True)


async def sent_first(
    question: Question, caller: Caller, leased: Leased, ahead: Ahead, *, now: datetime, time: float
) -> Message | None:
    """Read the next of the log; None where none was found as far as was looked. Raises NotFound for its site."""
    row = await ahead.take(question, caller, leased, time)
    return None if row is None else Message(row, await _written(question, row), 0, now, again=False)


async def _written(question: Question, row: Recorded) -> bytes | None:
    """Write an event as the feed shows it now: what was erased is not in it."""
    try:
        (told,) = await shown(question, [row])
        return cloud_event(row, told)
    except AWAY:
        raise
    except Exception as error:  # unforeseen: it counts as an attempt, so that this event holds up no others for ever
        whose = {"organisation": str(row.organisation), "seq": row.seq}
        log.error("message not written", **whose, exc_info=error)  # noqa: TRY400 - told by place and class
        return None
