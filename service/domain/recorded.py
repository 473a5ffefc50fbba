"""An event as the log holds it: what the sender said, and what the service added."""

from datetime import datetime
from uuid import UUID

import msgspec

from service.domain.conflict import Conflict
from service.domain.event import Event


class Recorded(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """One row of the log.

    `received_at` is the first receipt, `recorded_at` the moment of recording, `sent_at` the sender's clock as the
    message stated it. `suspect_order` says that another event of the device contradicts its counter (known so far).
    `conflicts` are those it was answered with, read of context events and of those about orders.
    """

    event: Event
    organisation: UUID
    seq: int
    received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None = None
    key: UUID
    imported: bool = False
    suspect_order: bool = False
    conflicts: tuple[Conflict, ...] = ()
