"""Short words for making messages and posting them: the language of the cases and of the random histories."""

import copy
import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from tests.oracle.record import Message, Record

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Posted:
    """A message and the data of its receipt; `label` lets another message name it as `@label`."""

    message: Message
    received_at: datetime
    sent_at: datetime | None
    label: str = ""
    key: str = "office"
    role: str = "administrator"
    imported: bool = False
    sites: frozenset[str] | None = field(default=None)


def moment(text: str) -> datetime:
    """Read "2026-03-02 08:00" as UTC, or an instant with its own offset."""
    found = datetime.fromisoformat(text)
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


def usual_receipt(at: str) -> datetime:
    """Give the usual receipt of a message: a minute after its instant, or at noon UTC of the day after its day."""
    if len(at) == len("2026-03-02"):
        return datetime.combine(date.fromisoformat(at) + timedelta(days=1), time(12), UTC)
    return moment(at) + MINUTE


def say(
    kind: str,
    at: str,
    by: str = "p-1",
    *,
    received: str | None = None,
    sent: str | None = "received",
    label: str = "",
    key: str = "office",
    role: str = "administrator",
    imported: bool = False,
    sites: frozenset[str] | None = None,
    **fields: Any,
) -> Posted:
    """Make a message. `at` is a day or a moment; `in_` and `from_` stand for the fields of those names.

    Unless said otherwise it is received a minute after its moment (or the noon after its day) and states a right clock.
    """
    stamp = {"occurred_on": at} if len(at) == len("2026-03-02") else {"occurred_at": moment(at).isoformat()}
    got = moment(received) if received else usual_receipt(at)
    body = {name.rstrip("_"): value for name, value in fields.items() if value is not None}
    message = {"kind": kind, **stamp, "by": by, **body}
    clock = got if sent == "received" else moment(sent) if sent else None
    return Posted(message, got, clock, label, key, role, imported, sites)


def event_id(number: int) -> str:
    """Give the id of the numbered message of a log."""
    return f"01900000-0000-7000-8000-{number:012x}"


def log(posted: list[Posted]) -> list[Record]:
    """Record messages in the order given: ids, labels resolved, seq from 1, recorded_at never going back."""
    names = {one.label: event_id(number) for number, one in enumerate(posted, 1) if one.label}
    records: list[Record] = []
    last = datetime.min.replace(tzinfo=UTC)
    for number, one in enumerate(posted, 1):
        last = max(last + timedelta(microseconds=1), one.received_at)
        message = {"id": event_id(number), **named(one.message, names)}
        records.append(
            Record(
                message, number, one.received_at, last, one.sent_at, one.key, one.imported, one.role, one.sites,
            ),
        )  # fmt: skip
    return records


def named(message: Message, names: dict[str, str]) -> Message:
    """Put ids in place of labels."""
    found = copy.deepcopy(message)
    for name, value in found.items():
        if isinstance(value, str) and re.fullmatch(r"@[\w-]+", value):
            found[name] = names[value[1:]]
    return found
