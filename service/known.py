"""What is known: the world of an organisation as of a position in its log.

Context events are kept in memory once read, since every decision rests on them; a world is built anew only when one
was added. The log is append-only, so what was read never has to be read again.
"""

from bisect import bisect_right
from datetime import datetime
from typing import Any
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.caller import KeyHolder
from service.domain.context import world_of
from service.domain.recall.acts import Acts
from service.domain.recorded import Recorded
from service.domain.stock.ledger import Left
from service.domain.world import World
from service.remembered import Remembered
from service.store.context_events import context_events
from service.store.keys import keys

KEPT_WORLDS = 8
"""Worlds of the past kept for repeated questions."""
MOST_LIVES = 80_000
"""Structs of units kept so that questions about recalls need not unpack them again: no more than some 50 MB.

They are 4,000 units of which little is told, and 500 that had twenty parts and hands and were worn a hundred times
while they had what was spoken of.
"""
MOST_ACTS = 100_000
"""Acts of units kept whose tags hang together with others, some 10 MB."""


class Folded(msgspec.Struct, frozen=True):
    """The lines of a shelf as folded from events up to `seq`, all of which had happened `as_at`.

    `unit` is that in which its item was counted then. A `borrowing` one rests on what is told of its item elsewhere.
    """

    seq: int
    rules_to: int
    as_at: datetime
    unit: str | None
    lines: tuple[Left, ...]
    borrowing: bool = False


class Shelves(msgspec.Struct):
    """Shelves of stock that were folded, by site and item, and when events up to `seq` last touched any of them."""

    seq: int = 0
    touched: dict[tuple[str, str], int] = {}
    touched_items: dict[str, int] = {}
    folded: dict[tuple[str, str], Folded] = {}


class Known(msgspec.Struct):
    """The context events of an organisation up to `seq`, and worlds built from them by the newest seq they hold.

    Beside them the shelves of stock that were folded for the exceptions, the units of kins as they are stored
    (`assessing/stored_lives.py`), and the acts of those whose tags hang together: of these all organisations share two.
    """

    seq: int = 0
    rows: list[Recorded] = []
    holders: dict[UUID, KeyHolder] = {}
    worlds: dict[int, World] = {}
    shelves: Shelves = msgspec.field(default_factory=Shelves)
    lives: Remembered[Any] = msgspec.field(default_factory=lambda: Remembered(MOST_LIVES))
    acts: Remembered[Acts] = msgspec.field(default_factory=lambda: Remembered(MOST_ACTS))

    def world(self, until_seq: int) -> World:
        """Give the world as the context events up to `until_seq` say it."""
        newest = self.newest(until_seq)
        found = self.worlds.pop(newest, None) or world_of(self.rows[: self._end(until_seq)], self.holders)
        self.worlds[newest] = found
        for old in list(self.worlds)[:-KEPT_WORLDS]:
            del self.worlds[old]
        return found.fresh()

    def newest(self, until_seq: int) -> int:
        """Give the seq of the newest context event up to `until_seq`, 0 where there is none."""
        end = self._end(until_seq)
        return self.rows[end - 1].seq if end else 0

    def _end(self, until_seq: int) -> int:
        return bisect_right(self.rows, until_seq, key=lambda row: row.seq)

    def with_rows(self, rows: list[Recorded]) -> World:
        """Give the world with context events that are not recorded yet."""
        return world_of([*self.rows, *rows], self.holders)


class Memory:
    """What a process remembers of each organisation."""

    def __init__(self) -> None:
        self._known: dict[UUID, Known] = {}
        self._lives: Remembered[Any] = Remembered(MOST_LIVES)
        self._acts: Remembered[Acts] = Remembered(MOST_ACTS)

    async def known(self, conn: AsyncConnection, organisation: UUID, context_seq: int) -> Known:
        """Give what is known up to the newest context event of the transaction's snapshot."""
        known = self._of(organisation)
        if known.seq < context_seq:
            added = await context_events(conn, organisation, after=known.seq, until_seq=context_seq)
            known.rows += [row for row in added if row.seq > known.seq]
            known.seq = max(known.seq, context_seq)
        return known

    async def meet(self, conn: AsyncConnection, organisation: UUID, wanted: set[UUID]) -> None:
        """Learn what keys are bound to, unless all those wanted are known already."""
        known = self._of(organisation)
        if wanted <= known.holders.keys():
            return
        known.holders = await holders(conn, organisation)
        known.worlds.clear()

    def _of(self, organisation: UUID) -> Known:
        return self._known.setdefault(organisation, Known(lives=self._lives, acts=self._acts))


async def holders(conn: AsyncConnection, organisation: UUID) -> dict[UUID, KeyHolder]:
    """Give what every key of the organisation is bound to."""
    return {
        key.id: KeyHolder(key.role, None if key.sites is None else frozenset(key.sites))
        for key in await keys(conn, organisation)
    }
