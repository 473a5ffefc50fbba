"""The bulk path: rows of patterns are numbered in order of receipt, hashed, and copied in, in one transaction.

What `ledger.append` would leave is left: gap-free numbers, moments that never go back, true leaves, the head and the
generation, and every derived row as the fold has it. That it is the same is proved (test_bulk.py): by `verify`, by a
rebuild that finds no difference, and by posting the same events.
"""

from array import array
from collections import defaultdict
from collections.abc import AsyncIterator, Iterable, Iterator
from contextlib import asynccontextmanager
from datetime import timedelta
from itertools import count
from struct import pack
from time import perf_counter

import msgspec
from psycopg import AsyncConnection

from service.domain.calendar import TZDATA_VERSION
from service.domain.edition import MEANING
from service.domain.leaf import entry_hash, microseconds
from service.store.connecting import connect
from service.store.generation import Generation
from service.store.scope import set_organisation
from service.store.set_generation import set_generation
from tests.bench.scale.aside import set_aside
from tests.bench.scale.derived import OF_KINS, OF_UNITS
from tests.bench.scale.forms import Form
from tests.bench.scale.names import Columns, text_keys
from tests.bench.scale.packing import END, EPOCH, HEAD, Table, table
from tests.bench.scale.pattern import (
    BODY,
    COUNTER,
    HASHED_RECORDED,
    LEAF,
    RECORDED,
    SEQ,
    TEXT_KEY,
    VERSION,
    Origin,
    Pattern,
    PatternEvent,
)
from tests.bench.scale.patterns import contexts, patterns
from tests.bench.scale.shape import Shape
from tests.bench.scale.telling import MOVED_BY

TABLES = ("event", "event_subject", "free_text", *OF_KINS)
FIRST_NUMBER = 1_000_000
"""Where kiosks begin to count: as long as the numbers of samples."""
COMMITS = timedelta(milliseconds=5)
"""From receipt to recording."""
DRAW = "SELECT ledger.draw(%(organisation)s::uuid, %(count)s::bigint, %(context)s::bigint)"
TO_2000 = microseconds(EPOCH)


class Block(msgspec.Struct, frozen=True):
    """One event of a pattern, of all its members: the number and moment of the first; one more for each further."""

    pattern: Pattern
    place: int
    seq: int
    recorded: int

    @property
    def event(self) -> PatternEvent:
        """Give the event."""
        return self.pattern.events[self.place]

    @property
    def members(self) -> int:
        """Give how many there are."""
        return len(self.pattern.members.numbers)


class TooLong(ValueError):
    """Lives reach back to before what they are judged by was recorded."""


class Loaded(msgspec.Struct, frozen=True):
    """What was loaded, and the seconds of each step."""

    events: int
    units: int
    seconds: dict[str, float]


async def load(owner_url: str, shape: Shape, origin: Origin) -> Loaded:
    """Put the data of a shape into a database whose log is empty."""
    seconds: dict[str, float] = {}
    clock = _Clock(seconds)
    async with await connect(owner_url) as conn:
        tables = {name: await table(conn, name) for name in TABLES}
        context, world = contexts(shape, origin, tables)
        every = [context, *patterns(shape, origin, tables, world)]
        clock.told("patterns folded")
        _count(every)
        blocks = list(_numbered(every))
        if any(block.pattern is not context for block in blocks[: len(context.events)]):
            raise TooLong
        clock.told("numbered")
        events = blocks[-1].seq + blocks[-1].members - 1
        async with _loading(conn, origin, tables):
            for name, rows in _rows(every, blocks):
                await _copy(conn, tables[name], rows)
                clock.told(name)
            await _head(conn, origin, events, len(context.events))
        clock.told("indexes made")
        await conn.execute("VACUUM (ANALYZE)")
        clock.told("vacuum")
    return Loaded(events, shape.units + bool(shape.long), seconds)


class _Clock:
    def __init__(self, seconds: dict[str, float]) -> None:
        self._seconds, self._last = seconds, perf_counter()

    def told(self, what: str) -> None:
        now = perf_counter()
        self._seconds[what] = now - self._last
        self._last = now


@asynccontextmanager
async def _loading(conn: AsyncConnection, origin: Origin, tables: Iterable[str]) -> AsyncIterator[None]:
    async with conn.transaction():
        await set_organisation(conn, origin[0])
        await conn.execute("SET LOCAL idle_in_transaction_session_timeout = 0")
        async with set_aside(conn, tables):
            yield


async def _copy(conn: AsyncConnection, into: Table, rows: Iterable[bytes]) -> None:
    async with conn.cursor() as cursor, cursor.copy(into.copy()) as copy:
        await copy.write(HEAD)
        for some in rows:
            await copy.write(some)
        await copy.write(END)


async def _head(conn: AsyncConnection, origin: Origin, events: int, context: int) -> None:
    """Draw the numbers that were given, and say what was judged with; the log was empty."""
    await conn.execute(DRAW, {"organisation": origin[0], "count": events, "context": context})
    made = Generation(generation=1, rules_to=context, code_version=MEANING, tzdata_version=TZDATA_VERSION)
    await set_generation(conn, origin[0], made)


def _count(every: Iterable[Pattern]) -> None:
    """Have every kiosk count its events in the order in which they happened."""
    kiosks: defaultdict[int, Iterator[int]] = defaultdict(lambda: count(FIRST_NUMBER))
    places = [
        (one.occurred_at, nth, place) for nth, pattern in enumerate(every) for place, one in enumerate(pattern.events)
    ]
    patterns = list(every)
    for _, nth, place in sorted(places):
        pattern = patterns[nth]
        event, members = pattern.events[place], pattern.members
        if event.counts:
            moved = MOVED_BY * event.moves
            members.counters[place] = array("i", (next(kiosks[site + moved]) for site in members.sites))


def _numbered(every: Iterable[Pattern]) -> Iterator[Block]:
    """Give numbers and moments in order of receipt."""
    patterns = list(every)
    places = [
        (event.received_at, nth, place)
        for nth, pattern in enumerate(patterns)
        for place, event in enumerate(pattern.events)
    ]
    seq, newest = 1, 0
    for received_at, nth, place in sorted(places):
        block = Block(patterns[nth], place, seq, max(newest + 1, microseconds(received_at + COMMITS)))
        yield block
        seq, newest = seq + block.members, block.recorded + block.members - 1


def _rows(every: Iterable[Pattern], blocks: list[Block]) -> Iterator[tuple[str, Iterator[bytes]]]:
    """Give by table what is to be copied into it."""
    yield "event", map(_events, blocks)
    yield "event_subject", map(_subjects, blocks)
    yield "free_text", (_texts(block) for block in blocks if block.event.texts)
    last = {id(block.pattern): block for block in blocks}
    kins = [last[id(pattern)] for pattern in every if pattern.derived]
    for name in OF_KINS:
        yield name, _derived(name, kins)


def _filled(block: Block, forms: Iterable[Form], columns: Columns) -> bytes:
    return b"".join(one for form in forms for one in form.filled(columns, block.members))


def _events(block: Block) -> bytes:
    event, columns = block.event, _numbers_of(block)
    moments = range(block.recorded, block.recorded + block.members)
    columns[RECORDED] = [pack("!q", moment - TO_2000) for moment in moments]
    columns[HASHED_RECORDED] = [pack("!q", moment) for moment in moments]
    if event.counts:
        columns[COUNTER] = [pack("!q", number) for number in block.pattern.members.counters[block.place]]
    columns[BODY] = list(event.body.filled(columns, block.members))
    headers = event.header.filled(columns, block.members)
    columns[LEAF] = [entry_hash(header + body) for header, body in zip(headers, columns[BODY], strict=False)]
    return _filled(block, [event.row], columns)


def _numbers_of(block: Block) -> Columns:
    columns = block.pattern.columns()
    columns[SEQ] = [pack("!q", seq) for seq in range(block.seq, block.seq + block.members)]
    return columns


def _subjects(block: Block) -> bytes:
    return _filled(block, block.event.subjects, _numbers_of(block))


def _texts(block: Block) -> bytes:
    columns = block.pattern.columns()
    columns[TEXT_KEY] = text_keys(block.pattern.members, block.place)
    return _filled(block, block.event.texts, columns)


def _derived(name: str, kins: list[Block]) -> Iterator[bytes]:
    """Give the rows of a table; those of moments in order of time, as live writing leaves them."""
    if name in OF_UNITS:
        rows = [
            (row.at, nth, row.form) for nth, block in enumerate(kins) for row in block.pattern.derived.get(name, ())
        ]
        for _, nth, form in sorted(rows, key=lambda row: row[:2]):
            yield _filled(kins[nth], [form], kins[nth].pattern.columns())
        return
    for block in kins:
        columns = block.pattern.columns()
        columns[VERSION] = [pack("!q", moment) for moment in range(block.recorded, block.recorded + block.members)]
        yield _filled(block, [row.form for row in block.pattern.derived.get(name, ())], columns)
