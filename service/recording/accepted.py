"""Accepted: what was decided of a message that may be recorded, and the entry it becomes in the log."""

import msgspec

from service.domain.conflict import Conflict
from service.domain.event import Event, ReferenceEvent
from service.domain.recorded import Recorded
from service.recording.filing import filed
from service.recording.incoming import Incoming, Repeat
from service.recording.references import supplied
from service.store.append import CONTEXT, Entry, FreeText


class Accepted(msgspec.Struct, frozen=True, kw_only=True):
    """An event that is to be recorded. `recorded.seq` is provisional: only its order counts.

    `target` is what a voiding is in the end about; `replaces` says of a definition put at its address that there was
    one before.
    """

    incoming: Incoming
    recorded: Recorded
    body: bytes
    texts: tuple[FreeText, ...]
    context: bool
    tags: tuple[str, ...]
    target: Event | None = None
    replaces: bool = False

    @property
    def guarded(self) -> bool:
        """Say whether it is not to be recorded if it contradicts the history; bad news is never turned away."""
        return self.incoming.strict and not self.recorded.event.adverse()


class Again(msgspec.Struct, frozen=True):
    """A message whose event another message of the same call brings."""

    accepted: Accepted


Decision = Accepted | Again | Repeat


def entered(accepted: Accepted, kin: str | None, conflicts: tuple[Conflict, ...]) -> Entry:
    """Give the event as it is appended, with the kin it belongs to."""
    row, event = accepted.recorded, accepted.recorded.event
    device = None if isinstance(event, ReferenceEvent) else event.device
    return Entry(
        id=event.id,
        kind=event.kind,
        kind_version=event.version,
        instant=event.occurred_at,
        on_day=event.occurred_on,
        by=event.by,
        site=event.site,
        device=device,
        device_seq=None if device is None else event.device_seq,
        received_at=row.received_at,
        sent_at=row.sent_at,
        key=row.key,
        imported=row.imported,
        body=accepted.body,
        conflicts=msgspec.json.encode(conflicts),
        subjects=tuple(pair for pair in filed(row, accepted.target) if pair[0] != CONTEXT),
        texts=accepted.texts,
        kin=kin,
        context=accepted.context,
        supplies=tuple(supplied(event)),
    )
