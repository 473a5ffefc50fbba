"""Append events and what they mean in one call: each event has its own outcome, each kin is written whole or not.

The caller has opened the transaction and named the organisation; it makes one append in it and commits.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Final, Literal
from uuid import UUID

import msgspec
from psycopg import AsyncConnection, DatabaseError
from psycopg.errors import DeadlockDetected

from service.store.arrays import Bigints, Blobs, Booleans, Days, Instants, Integers, Smallints, Texts, Uuids
from service.store.errors import StaleContext
from service.store.kin_write import KINS, IntervalRow, KinWrite, UnitRow, UseRow, kin_columns
from service.store.positional import numbered, rows_of

__all__ = ["Entry", "FreeText", "IntervalRow", "KinWrite", "Outcome", "UnitRow", "UseRow", "append"]

CONTEXT: Final = "context"
"""The subject under which every context event stands: decisions about any kin rest on all of them."""


class FreeText(msgspec.Struct, frozen=True, kw_only=True):
    """A text kept out of the log: where it stood, the key its place in the body was computed with, and the words."""

    path: str
    key: bytes
    text: str


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """An event to record; exactly one of `instant` and `on_day` is set, `kin` is None for an event about no unit.

    `subjects` are what it speaks of, with the moment it takes its place in their order. `context` says that decisions
    about any unit may rest on it: reference data, persons, recalls, and voidings of those. `supplies` are the
    references that messages may wait for and that it makes known.
    """

    id: UUID
    kind: str
    kind_version: int
    instant: datetime | None
    on_day: date | None
    by: str
    site: str | None
    device: str | None
    device_seq: int | None
    received_at: datetime
    sent_at: datetime | None
    key: UUID
    imported: bool
    body: bytes
    conflicts: bytes
    subjects: tuple[tuple[str, datetime], ...]
    texts: tuple[FreeText, ...]
    kin: str | None
    context: bool
    supplies: tuple[str, ...] = ()


class Outcome(msgspec.Struct, frozen=True):
    """What became of an entry: recorded; taken, with what the id was given to; or stale, to be decided again.

    `refused` says that an open message names the id, which could not be accepted before.
    """

    id: UUID
    outcome: Literal["recorded", "taken", "stale"]
    seq: int | None
    recorded_at: datetime | None
    refused: bool


class IdTwice(ValueError):
    """One call records an id once."""


APPEND: Final = (
    """
SELECT id, outcome, seq, recorded_at, refused FROM ledger.append(
    %(organisation)s::uuid, %(context_seq)s::bigint, %(known_seq)s::bigint,
    %(known_at)s::timestamptz, %(refs)s::text[], %(supplied)s::text[],
    ARRAY (SELECT ROW (n.*)::ledger.new_entry FROM unnest(
        %(id)s::uuid[], %(kind)s::text[], %(kind_version)s::smallint[], %(instant)s::timestamptz[], %(on_day)s::date[],
        %(by)s::text[], %(site)s::text[], %(device)s::text[], %(device_seq)s::bigint[], %(received_at)s::timestamptz[],
        %(sent_at)s::timestamptz[], %(key)s::uuid[], %(imported)s::boolean[], %(body)s::bytea[], %(conflicts)s::bytea[],
        %(kin_place)s::integer[], %(context)s::boolean[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_subject FROM unnest(
        %(subject_place)s::integer[], %(subject)s::text[], %(subject_instant)s::timestamptz[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_text FROM unnest(
        %(text_place)s::integer[], %(text_event)s::uuid[], %(text_path)s::text[], %(text_key)s::bytea[],
        %(text)s::text[]) n),
"""  # noqa: S608 - two constant texts
    + KINS
)
CALL: Final = numbered(APPEND)


async def append(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    context_seq: int,
    entries: Sequence[Entry],
    kins: Sequence[KinWrite] = (),
    refs: Sequence[str] = (),
    known_seq: int | None = None,
    known_at: datetime | None = None,
) -> list[Outcome]:
    """Record the entries and write their kins, in their order; give an outcome for each.

    An entry is stale when its kin is not at the expected version or another entry of the kin is taken. A kin without
    an entry of its own is owed to the others: then all is recorded or nothing, and so it is when the call holds a
    context event or `refs` and any kin is stale.

    `context_seq`: the newest context event the decisions knew. `refs`: what the call changes or claims; every kin that
    depends on one must be among `kins`. `known_seq`: the newest seq known when the devices' counters were compared.
    `known_at`: the newest moment known when reports about the units, and messages that wait for what the entries
    supply, were read (`Position.head_recorded_at`). None of either compares nothing. Raises StaleContext when one of
    these has moved; the transaction is lost then.
    """
    if len({entry.id for entry in entries}) != len(entries):
        raise IdTwice
    owners = {entry.kin for entry in entries}
    columns = {
        "organisation": organisation,
        "context_seq": context_seq,
        "known_seq": known_seq,
        "known_at": known_at,
        "refs": Texts(refs),
        "supplied": Texts(ref for entry in entries for ref in entry.supplies),
        **_entry_columns(entries, {kin.kin: place for place, kin in enumerate(kins, start=1)}),
        **_subject_columns(entries),
        **_text_columns(entries),
        **kin_columns(kins, [kin.kin not in owners for kin in kins]),
    }
    try:
        return await rows_of(conn, CALL, columns, Outcome)
    except DatabaseError as error:
        raise_stale(error)
        raise


def raise_stale(error: DatabaseError) -> None:
    """Say StaleContext where the database says that what was decided must be decided again."""
    if error.sqlstate == "LG001":
        raise StaleContext(error.diag.message_detail or "unknown") from error
    if isinstance(error, DeadlockDetected):
        reason = "deadlock"
        raise StaleContext(reason) from error
    if error.diag.constraint_name == "event_id_once":
        reason = "taken"
        raise StaleContext(reason) from error


def _entry_columns(entries: Sequence[Entry], places: dict[str, int]) -> dict[str, object]:
    """Lay entries out in columns; raises KeyError for a kin that the call does not write."""
    return {
        "id": Uuids(entry.id for entry in entries),
        "kind": Texts(entry.kind for entry in entries),
        "kind_version": Smallints(entry.kind_version for entry in entries),
        "instant": Instants(entry.instant for entry in entries),
        "on_day": Days(entry.on_day for entry in entries),
        "by": Texts(entry.by for entry in entries),
        "site": Texts(entry.site for entry in entries),
        "device": Texts(entry.device for entry in entries),
        "device_seq": Bigints(entry.device_seq for entry in entries),
        "received_at": Instants(entry.received_at for entry in entries),
        "sent_at": Instants(entry.sent_at for entry in entries),
        "key": Uuids(entry.key for entry in entries),
        "imported": Booleans(entry.imported for entry in entries),
        "body": Blobs(entry.body for entry in entries),
        "conflicts": Blobs(entry.conflicts for entry in entries),
        "kin_place": Integers(None if entry.kin is None else places[entry.kin] for entry in entries),
        "context": Booleans(entry.context for entry in entries),
    }


def _subject_columns(entries: Sequence[Entry]) -> dict[str, object]:
    """Lay subjects out in columns, each once an entry."""
    rows = [
        (place, *subject)
        for place, entry in enumerate(entries, start=1)
        for subject in dict.fromkeys((*entry.subjects, *(((CONTEXT, entry.received_at),) if entry.context else ())))
    ]
    return {
        "subject_place": Integers(row[0] for row in rows),
        "subject": Texts(row[1] for row in rows),
        "subject_instant": Instants(row[2] for row in rows),
    }


def _text_columns(entries: Sequence[Entry]) -> dict[str, object]:
    """Lay texts out in columns."""
    rows = [(place, entry.id, text) for place, entry in enumerate(entries, start=1) for text in entry.texts]
    return {
        "text_place": Integers(place for place, _, _ in rows),
        "text_event": Uuids(event for _, event, _ in rows),
        "text_path": Texts(text.path for _, _, text in rows),
        "text_key": Blobs(text.key for _, _, text in rows),
        "text": Texts(text.text for _, _, text in rows),
    }
