"""Rebuild everything derived from the log alone, in one transaction, or only say what would differ.

Writers of the organisation wait meanwhile, and so do its readers, who need a moment at which nobody writes: after ten
seconds they are told to come back.
"""

import tempfile
from collections import defaultdict
from collections.abc import AsyncIterator, Callable, Iterator
from datetime import datetime
from itertools import zip_longest
from pathlib import Path
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.calendar import TZDATA_VERSION
from service.domain.edition import MEANING
from service.domain.event import AssetEvent, Event
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.voided import Voided
from service.domain.kinship import brings, hangs_on
from service.domain.recorded import Recorded
from service.domain.swaps import serials_moved
from service.domain.world import World
from service.known import Memory
from service.recording.draft import Draft
from service.recording.filing import filed, tags_of
from service.recording.loading import load_rows
from service.store.dump_derived import DUMPS, dump_derived
from service.store.events_by_ids import events_by_ids
from service.store.feed import feed
from service.store.generation import Generation
from service.store.kin_write import KinWrite
from service.store.lock_log import lock_log
from service.store.position import Position, position
from service.store.rewrite import rewrite
from service.store.set_generation import set_generation
from service.store.sort_intervals import sort_intervals
from service.store.wipe_derived import wipe_derived
from service.store.write_subjects import write_subjects

PAGE = 2000
TOGETHER = 50

Progress = Callable[[str, int, int], None]
"""What is being done, how much of it is done, and how much there is."""


class Difference(msgspec.Struct, frozen=True):
    """A derived row that a rebuild writes otherwise; None where it is on one side alone."""

    table: str
    key: str
    stored: str | None
    rebuilt: str | None


async def rebuild(conn: AsyncConnection, organisation: UUID, progress: Progress) -> int:
    """Write everything derived anew in the caller's transaction, and give the number of events."""
    await lock_log(conn, organisation)
    where = await position(conn, organisation)
    await wipe_derived(conn, organisation)
    tags = await _file_events(conn, organisation, where, progress)
    memory = Memory()
    known = await memory.known(conn, organisation, where.context_seq)
    await memory.meet(conn, organisation, {row.key for row in known.rows} | {UUID(int=0)})
    world = known.world(where.context_seq)
    await _fold_kins(conn, organisation, where, world, tags, progress)
    await sort_intervals(conn, organisation)
    await set_generation(
        conn,
        organisation,
        Generation(generation=1, rules_to=where.context_seq, code_version=MEANING, tzdata_version=TZDATA_VERSION),
    )
    return where.head_seq


async def differences(conn: AsyncConnection, organisation: UUID, progress: Progress) -> list[Difference]:
    """Rebuild in a transaction that is taken back, and name every row that would differ."""
    found: list[Difference] = []
    with tempfile.TemporaryDirectory() as folder:
        stored = {table: Path(folder) / table for table in DUMPS}
        for table, file in stored.items():
            await _dump(conn, organisation, table, file)
        async with conn.transaction(force_rollback=True):
            await rebuild(conn, organisation, progress)
            for table, file in stored.items():
                rebuilt = Path(folder) / f"{table}.rebuilt"
                await _dump(conn, organisation, table, rebuilt)
                found += _compared(table, file, rebuilt)
    return found


async def _dump(conn: AsyncConnection, organisation: UUID, table: str, file: Path) -> None:
    with file.open("wb") as out:
        async for row in dump_derived(conn, organisation, table):
            out.write(msgspec.json.encode(row) + b"\n")


def _compared(table: str, stored: Path, rebuilt: Path) -> Iterator[Difference]:
    """Compare two dumps: their rows are keyed, and few differ."""
    with stored.open("rb") as old, rebuilt.open("rb") as new:
        left: dict[str, str] = {}
        right: dict[str, str] = {}
        for one, two in zip_longest(old, new):
            if one == two:
                continue
            for line, side in ((one, left), (two, right)):
                if line is not None:
                    key, rest = msgspec.json.decode(line, type=tuple[str, str])
                    side[key] = rest
    for key in sorted(left.keys() | right.keys()):
        if left.get(key) != right.get(key):
            yield Difference(table, key, left.get(key), right.get(key))


class _Tags:
    """Tags joined to kins, as the events that name them join them."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def add(self, *tags: str) -> None:
        """Join tags, and know each of them."""
        roots = sorted({self._root(tag) for tag in tags})
        self._above |= dict.fromkeys(roots, roots[0])

    def _root(self, tag: str) -> str:
        while self._above.setdefault(tag, tag) != tag:
            tag = self._above[tag]
        return tag

    def kins(self) -> list[list[str]]:
        """Give the tags of every kin, in order."""
        found: dict[str, list[str]] = {}
        for tag in sorted(self._above):
            found.setdefault(self._root(tag), []).append(tag)
        return list(found.values())


async def _file_events(
    conn: AsyncConnection, organisation: UUID, where: Position, progress: Progress
) -> list[Recorded]:
    """File every event under its subjects; give the events that settle identity."""
    identity: list[Recorded] = []
    async for page in _pages(conn, organisation, where.head_seq):
        subjects: dict[int, list[tuple[str, datetime]]] = {}
        identity += [row for row in page if isinstance(row.event, Registered | Retagged) or serials_moved(row.event)]
        targets = await _targets(conn, organisation, page)
        for row in page:
            subjects[row.seq] = list(filed(row, targets.get(row.event.id)))
        await write_subjects(conn, organisation, subjects)
        progress("events", page[-1].seq, where.head_seq)
    return identity


async def _targets(conn: AsyncConnection, organisation: UUID, page: list[Recorded]) -> dict[UUID, Event]:
    """Give for every voiding the event that is at stake, through voidings of voidings."""
    found: dict[UUID, Event] = {}
    for row in page:
        event: Event | None = row.event
        while isinstance(event, Voided):
            named = event.event
            stored = await events_by_ids(conn, organisation, [named])
            event = stored[named].recorded.event if named in stored else None
        if isinstance(row.event, Voided) and event is not None:
            found[row.event.id] = event
    return found


async def _pages(conn: AsyncConnection, organisation: UUID, until: int) -> AsyncIterator[list[Recorded]]:
    after = 0
    while after < until:
        stored = await feed(conn, organisation, after=after, limit=PAGE, until=until)
        if not stored:
            return
        yield [one.recorded for one in stored]
        after = stored[-1].recorded.seq


async def _fold_kins(
    conn: AsyncConnection,
    organisation: UUID,
    where: Position,
    world: World,
    identity: list[Recorded],
    progress: Progress,
) -> None:
    kins = joined(identity, world)
    for start in range(0, len(kins), TOGETHER):
        writes = [await _folded(conn, organisation, tags, world) for tags in kins[start : start + TOGETHER]]
        await rewrite(conn, organisation, context_seq=where.context_seq, kins=writes)
        progress("kins", start + len(writes), len(kins))


async def _folded(conn: AsyncConnection, organisation: UUID, tags: list[str], world: World) -> KinWrite:
    draft = Draft()
    draft.tags = set(tags)
    draft.anew = True
    await load_rows(conn, organisation, draft, world)
    draft.fold_anew(world)
    return draft.write()


def joined(identity: list[Recorded], world: World) -> list[list[str]]:
    """Give the tags of every kin: joined by retagging, by being fitted to a unit, and by serial numbers (`kinship`)."""
    tags = _Tags()
    events = [row.event for row in identity if isinstance(row.event, AssetEvent)]
    hanging: defaultdict[str, set[str]] = defaultdict(set)
    for event in events:
        fitted_to = event.fitted_to if isinstance(event, Registered) else None
        tags.add(*tags_of(event), *([fitted_to] if fitted_to else ()))
        for asked in hangs_on(event):
            hanging[asked].add(event.asset)
    for event in events:
        for told in brings(event, world) & hanging.keys():
            tags.add(event.asset, *hanging[told])
            hanging[told] = {event.asset}
    return tags.kins()
