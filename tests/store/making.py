"""Entries, kins and rejections for tests, small and valid; each says only what its test is about."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple
from uuid import UUID, uuid4

import msgspec
from psycopg.sql import Composed

from service.domain.leaf import microseconds
from service.store.append import Entry, KinWrite, Outcome, UnitRow, append
from service.store.connecting import Pool
from service.store.kin_write import IntervalRow
from service.store.reject import Rejection
from service.store.scope import writing
from tests.databases.clone import Database

KEY = UUID("0198c1f2-0000-7000-8000-0000000000a1")
CREATED_AT = datetime(2026, 1, 1, tzinfo=UTC)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


class Desk(NamedTuple):
    """Where a test works: the app role's pool, its organisation, a foreign one, and the database."""

    pool: Pool
    organisation: UUID
    foreign: UUID
    database: Database


def minutes(number: int) -> datetime:
    """Give a moment so many minutes after noon."""
    return NOON + timedelta(minutes=number)


def an_entry(kin: str | None = None, **changes: Any) -> Entry:
    """Make an entry: a stock count, or with a kin the cleaning of the unit of that tag."""
    event = changes.get("id", uuid4())
    body: dict[str, object] = {
        "kind": "stock-counted",
        "id": str(event),
        "occurred_at": "2026-03-02T12:00:00Z",
        "by": "p-1",
    }
    body |= {"site": "harrow-dock", "item": "filter-a", "quantity": 4.0, "unit": "each"}
    if kin is not None:
        body = {"kind": "cleaned", "id": str(event), "occurred_at": "2026-03-02T12:00:00Z", "by": "p-1"}
        body |= {"asset": kin, "scope": "unit", "method": "wiped"}
    made = Entry(
        id=event,
        kind=str(body["kind"]),
        kind_version=1,
        instant=NOON,
        on_day=None,
        by="p-1",
        site=None if kin else "harrow-dock",
        device=None,
        device_seq=None,
        received_at=minutes(1),
        sent_at=None,
        key=KEY,
        imported=False,
        body=msgspec.json.encode(body),
        conflicts=b"[]",
        subjects=(("item:filter-a", NOON),) if kin is None else ((f"asset:{kin}", NOON),),
        texts=(),
        kin=kin,
        context=False,
    )
    return msgspec.structs.replace(made, **changes)


def a_unit(tag: str, **changes: Any) -> UnitRow:
    """Make a unit in date since noon, with an end that is open; its id follows from the tag."""
    interval = IntervalRow(
        since=NOON,
        until=None,
        site="harrow-dock",
        model="m-1",
        phase="issued",
        in_scope=True,
        standing="in-date",
        do_not_use=False,
        rules=b"rules",
    )
    made = UnitRow(
        unit=unit_id(tag),
        tag=tag,
        site="harrow-dock",
        model="m-1",
        phase="issued",
        standing="in-date",
        in_scope=True,
        do_not_use=False,
        card=b"card",
        outlook=b"outlook",
        rewrite_from=None,
        uses_from=None,
        findings_from=None,
        intervals=(interval,),
        uses=(),
    )
    return msgspec.structs.replace(made, **changes)


def unit_id(tag: str) -> UUID:
    """Give the id of a tag's unit."""
    return UUID(bytes=tag.encode().rjust(16, b"\x01")[-16:])


def version(written: Outcome) -> int:
    """Give the version of a kin that the call of this outcome wrote: the moment of the call, in microseconds."""
    assert written.recorded_at is not None
    return microseconds(written.recorded_at)


def a_kin(kin: str, after: Outcome | None = None, **changes: Any) -> KinWrite:
    """Make a kin of one tag and one unit: new, or to be written after a call that wrote it."""
    made = KinWrite(
        kin=kin,
        expected=0 if after is None else version(after),
        tags=(kin,),
        snapshot=b"snapshot",
        units=(a_unit(kin),),
        dependencies=("site:harrow-dock", "model:m-1"),
    )
    return msgspec.structs.replace(made, **changes)


def a_rejection(**changes: Any) -> Rejection:
    """Make a rejection: a failed check of a unit that is not known."""
    made = Rejection(
        key=KEY,
        role="site-app",
        sites=["harrow-dock"],
        received_at=minutes(1),
        sent_at=None,
        imported=False,
        body=b'{"kind":"failed-check"}',
        event=None,
        kind="failed-check",
        tag="FX-0001",
        site="harrow-dock",
        adverse=True,
        status=422,
        problem=b'{"code":"malformed","detail":"no such field here"}',
        waiting_for=("asset:FX-0001",),
    )
    return msgspec.structs.replace(made, **changes)


async def appended(
    desk: Desk, entries: Sequence[Entry], kins: Sequence[KinWrite] = (), *, context_seq: int = 0, **rest: Any
) -> list[Outcome]:
    """Append in a transaction of its own."""
    async with writing(desk.pool, desk.organisation) as conn:
        return await append(conn, desk.organisation, context_seq=context_seq, entries=entries, kins=kins, **rest)


async def rows(desk: Desk, query: str | Composed) -> list[tuple[Any, ...]]:
    """Read what the app role sees of the organisation."""
    async with writing(desk.pool, desk.organisation) as conn:
        cursor = await conn.execute(query.encode() if isinstance(query, str) else query)
        return await cursor.fetchall()
