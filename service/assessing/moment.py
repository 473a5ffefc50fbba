"""The moment of a question: as of when, and with what had been recorded by then."""

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.assessing.nameless import nameless, without_names
from service.domain.caller import Caller
from service.domain.errors import BadParameter, NotYetKnown
from service.domain.recorded import Recorded
from service.domain.world import World
from service.known import Known
from service.ledger import Ledger
from service.store.keys import keys
from service.store.position import Seen, reading
from service.store.seq_known_at import seq_known_at
from service.store.texts_of_events import texts_of_events

AHEAD = timedelta(days=400)
"""How far ahead a projection goes: past every interval the law knows, and short enough to be reckoned."""
AS_AT = "as_at"
T = TypeVar("T")


class Question(msgspec.Struct, frozen=True):
    """A connection whose snapshot holds everything up to `position`, and the moments asked about.

    `judged_to` is the newest seq that counts, `rules_to` the newest context event among those. To a `nameless` question
    no free text is told, and no person. `reach` are the sites that whoever asks is bound to, None for all.
    """

    conn: AsyncConnection
    organisation: UUID
    position: Seen
    known: Known
    world: World
    as_at: datetime
    known_at: datetime
    judged_to: int
    rules_to: int
    nameless: bool = False
    reach: frozenset[str] | None = None

    @property
    def of_the_past(self) -> bool:
        """Say whether something was recorded that the question leaves out of account."""
        return self.known_at < self.position.head_recorded_at

    @property
    def sites(self) -> frozenset[str]:
        """Name every site that had been defined, those taken back too: units may still be there."""
        rows = (row.event for row in self.known.rows if row.seq <= self.judged_to)
        return frozenset(event.site for event in rows if event.kind == "site-defined" and event.site is not None)

    @property
    def recall_seqs(self) -> dict[UUID, int]:
        """Give the seqs of what opened recalls, by event: units are judged by them, and they are none of theirs."""
        rows = (row for row in self.known.rows if row.seq <= self.judged_to)
        return {row.event.id: row.seq for row in rows if row.event.kind == "recall-opened"}

    def told(self, answer: T) -> T:
        """Give what is answered as this reader may have it."""
        return nameless(answer) if self.nameless else answer

    async def texts(self, events: Iterable[UUID]) -> dict[UUID, dict[str, str]]:
        """Give the free texts of events by their place, as far as they are kept and for this reader."""
        if self.nameless:
            return {}
        found = await texts_of_events(self.conn, self.organisation, list(events))
        return {event: {text.path: text.text for text in texts} for event, texts in found.items()}

    def about(self) -> dict[str, object]:
        """Give the members by which an answer says what it rests on."""
        return {
            "as_at": self.as_at,
            "known_at": self.known_at,
            "judged_to": self.judged_to,
            "rules_to": self.rules_to,
            "projection": self.as_at > self.known_at,
        }


def before(question: Question, row: Recorded) -> Question:
    """Give the question as it was just before a row was recorded."""
    known, until = question.known, row.seq - 1
    return msgspec.structs.replace(
        question,
        world=known.world(until),
        as_at=row.recorded_at,
        known_at=row.recorded_at,
        judged_to=until,
        rules_to=known.newest(until),
    )


@asynccontextmanager
async def asked(
    ledger: Ledger, caller: Caller, as_at: datetime | None = None, known_at: datetime | None = None
) -> AsyncIterator[Question]:
    """Fix the moment of a question; what is not asked is now. Raises NotYetKnown."""
    organisation = caller.organisation
    async with ledger.readers.of(organisation, ledger.pool), reading(ledger.pool, organisation) as (conn, position):
        if known_at is not None and known_at > position.now:
            raise NotYetKnown
        if as_at is not None and as_at > position.clock + AHEAD:
            raise BadParameter(AS_AT, f"Nobody can say how units will stand over {AHEAD.days} days from now.")
        await ledger.memory.meet(conn, organisation, {key.id for key in await keys(conn, organisation)})
        known = await ledger.memory.known(conn, organisation, position.context_seq)
        judged_to = position.head_seq if known_at is None else await seq_known_at(conn, organisation, known_at)
        yield Question(
            conn,
            organisation,
            position,
            known,
            known.world(judged_to),
            as_at or position.clock,
            known_at or position.now,
            judged_to,
            known.newest(judged_to),
            without_names(caller),
            caller.sites,
        )
