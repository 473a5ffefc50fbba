"""An event as CloudEvents 1.0.2 has it, in structured JSON.

`source` and `id` together name an event for ever: ids of events are unique within an organisation. `sequence` and
`recordedtime` are documented extensions: the event's place in the log, in digits that order as text, and when it was
recorded; `time` is when it happened, left out where that is a day alone.
"""

from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

import msgspec

from service.domain.recorded import Recorded

MEDIA: Final = "application/cloudevents+json; charset=UTF-8"
DATA: Final = "application/json"
PLACES: Final = 20
"""Digits of a place in the log: those of the largest there can be."""


def source_of(organisation: UUID) -> str:
    """Name the organisation whose log it is (RFC 9562 section 4: the URN of a UUID)."""
    return f"urn:uuid:{organisation}"


def cloud_event(row: Recorded, shown: dict[str, object]) -> bytes:
    """Write a recorded event; `shown` is what the feed shows of it."""
    event = row.event
    told: dict[str, Any] = {
        "specversion": "1.0",
        "id": str(event.id),
        "source": source_of(row.organisation),
        "type": f"respirator-ledger.{event.kind}.v{event.version}",
        "datacontenttype": DATA,
        "sequence": str(row.seq).zfill(PLACES),
        "recordedtime": row.recorded_at,
    }
    if event.occurred_at is not None:
        told["time"] = event.occurred_at
    if subjects := event.subjects():
        told["subject"] = subjects[0]
    return msgspec.json.encode(told | {"data": shown})


def trial(organisation: UUID, webhook: UUID, trial: UUID, now: datetime) -> bytes:
    """Write an event that is none of the log, by which a receiver is tried."""
    return msgspec.json.encode(
        {
            "specversion": "1.0",
            "id": str(trial),
            "source": source_of(organisation),
            "type": "respirator-ledger.test.v1",
            "subject": f"webhook:{webhook}",
            "time": now.astimezone(UTC),
            "datacontenttype": DATA,
            "data": {"webhook": webhook, "sent_at": now.astimezone(UTC)},
        }
    )
