"""A fact: one event at one place in the order of truth."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Any

from tests.oracle import clock
from tests.oracle.record import Message, Record
from tests.oracle.reference import KINDS as REFERENCE
from tests.oracle.reference import Book

PERSON = frozenset({"trained", "fit-tested", "medically-cleared", "assigned", "authorisation-ended"})
IDENTITY = frozenset({"registered", "retagged"})
RANKED = (
    "registered", "retagged", "use-set", "found", "received", "returned", "part-identified", "part-replaced",
    "filter-replaced", "cleaned", "repaired", "examined", "checked", "recall-actioned", "released", "issued",
    "stationed", "worn",
)  # fmt: skip
BAD = frozenset(
    {"failed-check", "failed-in-use", "quarantined", "missing", "recall-opened", "authorisation-ended", "voided"},
)


def rank(kind: str) -> int:
    """Give the place of a kind among events of the same instant and polarity."""
    if kind in REFERENCE:
        return 0
    if kind in PERSON:
        return 1
    return 2 + RANKED.index(kind) if kind in RANKED else 2 + len(RANKED)


def adverse(message: Message) -> bool:
    """Say whether an event is bad news, by its kind and the sender's own content alone."""
    if message["kind"] in BAD:
        return True
    if message["kind"] not in {"checked", "examined"}:
        return False
    return (
        "fail" in message["points"].values()
        or message.get("airflow_indicator") == "below"
        or message.get("result") == "fail"
    )


@dataclass(frozen=True, eq=False)
class Fact:
    """An event at an instant. `day` is set for a date-only one; an echo repeats bad news at its receipt."""

    record: Record
    at: datetime
    zone: str
    day: date | None
    echo: bool = False
    voidings: tuple[Record, ...] = ()
    key: tuple[Any, ...] = field(init=False)

    def __post_init__(self) -> None:
        message = self.record.message
        device = message.get("device") or ""
        place = (device, message.get("device_seq", -1), self.record.id)
        object.__setattr__(self, "key", (self.at, adverse(message), rank(self.kind), *place))

    @property
    def message(self) -> Message:
        """Give the posted message."""
        return self.record.message

    @property
    def kind(self) -> str:
        """Name the kind."""
        return self.record.kind

    @property
    def adverse(self) -> bool:
        """Say whether it is bad news by its own content."""
        return adverse(self.message)

    @property
    def versions_at(self) -> datetime:
        """Give the moment whose reference data judge it: a day's start for a date-only event."""
        return self.at if self.day is None else clock.day_start(self.day, self.zone)

    @property
    def local_day(self) -> date:
        """Give the calendar day on which it happened, where it happened."""
        return self.day if self.day is not None else clock.local_day(self.at, self.zone)

    def get(self, name: str) -> Any:
        """Give a field, None where it was left out."""
        return self.message.get(name)


def stamped(record: Record, zone: str) -> datetime:
    """Give the instant of a message: good news of a day counts at its end, bad news at its start."""
    message = record.message
    if "occurred_at" in message:
        return clock.instant(message["occurred_at"])
    day = date.fromisoformat(message["occurred_on"])
    return clock.day_start(day, zone) if adverse(message) else clock.day_end(day, zone)


def day_of(record: Record) -> date | None:
    """Give the date of a date-only message."""
    text = record.message.get("occurred_on")
    return None if text is None else date.fromisoformat(text)


def rough(record: Record) -> datetime:
    """Give the instant of a message, or the start of its day in UTC where it has only a date."""
    day = day_of(record)
    return clock.instant(record.message["occurred_at"]) if day is None else datetime.combine(day, time(), UTC)


def own_zone(record: Record, book: Book, fallback: str | None = None) -> str:
    """Name the zone of an event: that of its own site, else of the site given, else UTC."""
    site = record.message.get("site") or fallback
    return book.zone_on(site, rough(record).date()) if day_of(record) else book.zone_at(site, rough(record))


def fact(record: Record, book: Book, fallback: str | None = None, voidings: tuple[Record, ...] = ()) -> Fact:
    """Put a record at its place, with the site of its asset to fall back on."""
    zone = own_zone(record, book, fallback)
    return Fact(record, stamped(record, zone), zone, day_of(record), voidings=voidings)


def echo(fact: Fact) -> Fact:
    """Repeat a fact at the moment it was received."""
    return Fact(fact.record, fact.record.received_at, fact.zone, None, echo=True, voidings=fact.voidings)
