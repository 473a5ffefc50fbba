"""A message on its way in, and what became of it."""

from datetime import datetime
from typing import Literal
from uuid import UUID

import msgspec

from service.domain.caller import Role
from service.domain.conflict import Conflict
from service.domain.errors import Refused
from service.domain.event import Event
from service.domain.problem import Problem
from service.domain.recorded import Recorded
from service.domain.starting import Start


class Sender(msgspec.Struct, frozen=True, kw_only=True):
    """With what authority a message came, and when: of its first receipt, also when it is tried again."""

    key: UUID
    role: Role
    sites: frozenset[str] | None
    received_at: datetime
    sent_at: datetime | None
    imported: bool = False


class Incoming(msgspec.Struct, frozen=True, kw_only=True):
    """One message as it came. `kept` is the rejected message that it was kept as, if it is tried again.

    `starts_from` is the version of reference data that it changes, of a change that is put at its address; `conflicts`
    is what was found to contradict it before it was decided. A `strict` one is not to be recorded if it contradicts the
    history. The id of an `ordered` one names what is ordered, whoever orders it: a unit out of use, or goods.
    """

    raw: bytes
    sender: Sender
    kept: UUID | None = None
    starts_from: Start | None = None
    conflicts: tuple[Conflict, ...] = ()
    strict: bool = False
    ordered: bool = False


class Read(msgspec.Struct, frozen=True, kw_only=True):
    """A message and the event it says, or why it says none."""

    incoming: Incoming
    event: Event | None = None
    refused: Refused | None = None

    def contradicted(self, *conflicts: Conflict) -> "Read":
        """Give the message with what contradicts it."""
        return msgspec.structs.replace(self, incoming=msgspec.structs.replace(self.incoming, conflicts=conflicts))

    def refuse(self, error: Refused) -> "Read":
        """Give the message with the reason it is not accepted for."""
        return msgspec.structs.replace(self, refused=error)


class Repeat(msgspec.Struct, frozen=True):
    """A message whose event is in the log already."""

    recorded: Recorded
    conflicts: tuple[Conflict, ...]


class Receipt(msgspec.Struct, frozen=True, kw_only=True):
    """What a sender is told of one message."""

    id: UUID | None
    status: int
    outcome: Literal["recorded", "repeated"] | None = None
    seq: int | None = None
    recorded_at: datetime | None = None
    conflicts: tuple[Conflict, ...] = ()
    asset: dict[str, object] | None = None
    problem: Problem | None = None
    rejected: UUID | None = None
