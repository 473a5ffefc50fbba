"""Verify an organisation's log from its bytes: numbers, hashes, moments, columns and kept texts against the bodies.

What agrees with itself throughout can still have been written anew by whoever owns the database; that only a checkpoint
kept elsewhere finds. `conflicts` is outside the hash and is not looked at (see DEVELOPERS.md).
"""

import itertools
import re
from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.codec import sealed_text
from service.domain.kinds import BY_NAME
from service.domain.leaf import Header, leaf_hash
from service.store.log_rows import LogRow, log_rows
from service.store.position import NoOrganisation, position
from service.store.sealed_texts import SealedText, sealed_texts

OFTEN: Final = 500
"""Events between two tellings of the progress."""
STEP: Final = re.compile(r"[^.\[\]]+")


class Fault(msgspec.Struct, frozen=True):
    """Something that is not as it was recorded: where, None for the log as a whole; what, in a word; and how."""

    seq: int | None
    what: str
    detail: str


class Verified(msgspec.Struct, frozen=True):
    """How much was looked at, and how many faults were told."""

    events: int
    texts: int
    faults: int


class Envelope(msgspec.Struct, frozen=True, kw_only=True):
    """What the columns of a row repeat of its body; these members have one meaning in every version of every kind."""

    id: UUID
    kind: str
    instant: datetime | None = msgspec.field(name="occurred_at", default=None)
    on_day: date | None = msgspec.field(name="occurred_on", default=None)
    by_ref: str = msgspec.field(name="by")
    site: str | None = None
    device: str | None = None
    device_seq: int | None = None


async def verify(
    conn: AsyncConnection,
    organisation: UUID,
    tell: Callable[[Fault], None],
    progress: Callable[[int, int], None] = lambda _done, _total: None,
) -> Verified:
    """Tell every fault, in order of seq, then those of the head and of the kept texts.

    The caller's transaction has a fixed snapshot. Memory does not grow with the log.
    """
    found = 0

    def count(faults: Iterator[Fault]) -> None:
        nonlocal found
        for fault in faults:
            tell(fault)
            found += 1

    last, newest = await _head(conn, organisation)
    events, seq, moment = 0, 0, None
    async for row in log_rows(conn, organisation):
        count(itertools.chain(misplaced(row, seq, moment), altered(row)))
        events, seq, moment = events + 1, row.seq, row.recorded_at
        if not events % OFTEN:
            progress(events, max(last, events))
    progress(events, max(last, events))
    count(beyond(seq, moment, last, newest))
    texts = 0
    async for text in sealed_texts(conn, organisation):
        count(unproved(text))
        texts += 1
    return Verified(events, texts, found)


async def _head(conn: AsyncConnection, organisation: UUID) -> tuple[int, datetime | None]:
    """Give the newest seq and moment that the head knows; without a head 0 and None."""
    try:
        where = await position(conn, organisation)
    except NoOrganisation:
        return 0, None
    return where.head_seq, where.head_recorded_at


def misplaced(row: LogRow, previous: int, newest: datetime | None) -> Iterator[Fault]:
    """Find a gap in the numbers before the row, and a moment that goes back."""
    if row.seq != previous + 1:
        yield Fault(row.seq, "gap", f"the event before it is {previous}")
    if newest is not None and row.recorded_at < newest:
        yield Fault(row.seq, "recorded_at", f"goes back from {newest.isoformat()} to {row.recorded_at.isoformat()}")


def beyond(seq: int, moment: datetime | None, last: int, newest: datetime | None) -> Iterator[Fault]:
    """Find a log that does not end where its head says."""
    if seq != last:
        yield Fault(None, "head", f"knows {last} events; the newest in the log is {seq}")
    if moment is not None and newest is not None and newest < moment:
        yield Fault(
            None, "head", f"knows nothing after {newest.isoformat()}; the newest event is of {moment.isoformat()}"
        )


def altered(row: LogRow) -> Iterator[Fault]:
    """Find a hash that is not that of header and body, and columns that do not say what the body says."""
    header = Header(
        organisation=row.organisation,
        seq=row.seq,
        recorded_at=row.recorded_at,
        received_at=row.received_at,
        sent_at=row.sent_at,
        key=row.key,
        kind_version=row.kind_version,
        imported=row.imported,
    )
    if leaf_hash(header, row.body) != row.leaf:
        yield Fault(row.seq, "leaf", "is not the hash of this header and body")
    try:
        said = msgspec.json.decode(row.body, type=Envelope)
    except msgspec.DecodeError as error:
        yield Fault(row.seq, "body", f"is no event: {error}")
        return
    for column, value in _indexed(said).items():
        if getattr(row, column) != value:
            yield Fault(row.seq, column, f"the column says {_told(getattr(row, column))}, the body {_told(value)}")


def _indexed(said: Envelope) -> dict[str, object]:
    """Give what the columns should say: a definition is posted at a desk, and its `device` is a sort of device."""
    columns = msgspec.structs.asdict(said)
    defines = said.kind in BY_NAME and BY_NAME[said.kind].family == "reference"
    return columns | ({"device": None, "device_seq": None} if defines else {})


def _told(value: object) -> str:
    """Write a value as JSON does."""
    return msgspec.json.encode(value).decode()


def unproved(kept: SealedText) -> Iterator[Fault]:
    """Find a text that its event's body does not prove."""
    if kept.body is None:
        yield Fault(None, f"text {kept.path}", f"there is no event {kept.event}")
    elif said_at(kept.body, kept.path) != sealed_text(kept.text, kept.key):
        yield Fault(kept.seq, f"text {kept.path}", "is not the text that was sealed")


def said_at(body: bytes, path: str) -> object:
    """Give what stands in a body at a place such as "defects[0].found", None where there is nothing."""
    try:
        place: Any = msgspec.json.decode(body)
        for step in STEP.findall(path):
            place = place[int(step)] if isinstance(place, list) else place[step]
    except (msgspec.DecodeError, LookupError, TypeError, ValueError):
        return None
    return place
