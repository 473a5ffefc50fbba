"""The desk: what is known in one transaction, and what was accepted in it.

It reads what decisions need in the caller's transaction and writes nothing.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.afar import seen_from_afar
from service.domain.conflict import REHEARSAL_LEFT_OUT, UNKNOWN_RECALL, Conflict
from service.domain.errors import ContradictsHistory
from service.domain.event import Event, ReferenceEvent
from service.domain.kin import Report
from service.domain.kinds.quarantined import Quarantined
from service.domain.kinds.recall_actioned import RecallActioned
from service.domain.kinds.recall_opened import RecallOpened
from service.domain.kinds.trained import Trained
from service.domain.kinds.voided import Voided
from service.domain.people import granted
from service.domain.recorded import Recorded
from service.domain.world import World
from service.known import Known
from service.recording.accepted import Accepted, entered
from service.recording.device import contradict
from service.recording.draft import Draft
from service.recording.filing import tags_of
from service.recording.incoming import Incoming, Read
from service.recording.loading import flagged, load_drafts, load_rows
from service.recording.references import supplied, wanted
from service.recording.whole import fold_whole
from service.store.append import Entry, FreeText
from service.store.events_by_ids import events_by_ids
from service.store.position import Position, position
from service.store.stored import Stored
from service.store.texts_of_events import texts_of_events


class Desk:
    """What the messages of one transaction are decided by. `brought` is what was accepted here, by id.

    `hanging` are the tags by what they ask for to hang together (`kinship`), `bringing` those by what they bring;
    `registered` are the serial numbers known of models that are said here to be of a maker for the first time.
    """

    def __init__(self, conn: AsyncConnection, organisation: UUID, position: Position, known: Known) -> None:
        self.conn = conn
        self.organisation = organisation
        self.position = position
        self.known = known
        self.world = known.world(position.context_seq)
        self.accepted: list[Accepted] = []
        self.drafts: dict[str, Draft] = {}
        self.refs: set[str] = set()
        self.brought: dict[UUID, Accepted] = {}
        self.stored: dict[UUID, Stored] = {}
        self.texts: dict[UUID, list[FreeText]] = {}
        self.hanging: dict[str, set[str]] = {}
        self.bringing: dict[str, set[str]] = {}
        self.registered: dict[str, set[str]] = {}
        self._supplied: set[str] = set()
        self._to_be: World | None = None

    async def look_up(self, reads: Iterable[Read]) -> None:
        """Read at once what the messages name: events by id, and kins by tag."""
        events = [read.event for read in reads if read.event is not None]
        named = [reference for event in events for _, reference in wanted(event)]
        ids = {event.id for event in events} | {UUID(ref[6:]) for ref in named if ref.startswith("event:")}
        while missing := ids - self.stored.keys():
            found = await events_by_ids(self.conn, self.organisation, missing)
            self.stored |= found
            ids = {one.recorded.event.event for one in found.values() if isinstance(one.recorded.event, Voided)}
        if self.stored:
            self.texts |= await texts_of_events(self.conn, self.organisation, self.stored)
        tags = {tag for event in events for tag in tags_of(event)} | self._voided_tags()
        await self.open_tags(tags | {ref[6:] for ref in named if ref.startswith("asset:")})

    async def open_tags(self, tags: Iterable[str]) -> None:
        """Load the kins of tags that are not loaded yet."""
        missing = sorted(set(tags) - self.drafts.keys())
        if missing:
            for draft in await load_drafts(self.conn, self.organisation, tags=missing):
                self._take(draft)

    async def open_kins(self, names: Iterable[str]) -> list[Draft]:
        """Load kins by name, and give their drafts. A kin is named by one of its tags."""
        wanted_names = sorted(names)
        missing = [name for name in wanted_names if name not in self.drafts]
        for draft in await load_drafts(self.conn, self.organisation, kins=missing) if missing else []:
            self._take(draft)
        await self.open_tags(missing)  # where others joined a kin to another meanwhile, by its tag it is found there
        return [self.drafts[name] for name in wanted_names]

    def _take(self, draft: Draft) -> None:
        for tag in draft.tags:
            self.drafts.setdefault(tag, draft)

    def _voided_tags(self) -> set[str]:
        return {tag for stored in self.stored.values() for tag in tags_of(stored.recorded.event)}

    def known_event(self, ident: UUID) -> Recorded | None:
        """Give an event of the log, or one accepted here."""
        if ident in self.stored:
            return self.stored[ident].recorded
        return self.brought[ident].recorded if ident in self.brought else None

    def root(self, target: Recorded) -> Recorded:
        """Follow voidings of voidings to the event that is at stake."""
        while isinstance(target.event, Voided) and (following := self.known_event(target.event.event)) is not None:
            target = following
        return target

    def as_recorded(self, event: Event, incoming: Incoming) -> Recorded:
        """Give an event as it would be recorded next."""
        sender = incoming.sender
        return Recorded(
            event=event,
            organisation=self.organisation,
            seq=self.position.head_seq + len(self.accepted) + 1,
            received_at=sender.received_at,
            recorded_at=self.position.now,
            sent_at=sender.sent_at,
            key=sender.key,
            imported=sender.imported,
        )

    def is_known(self, reference: str) -> bool:
        """Say whether what a reference names is in the log or accepted here."""
        if reference in self._supplied:
            return True
        kind, _, ref = reference.partition(":")
        match kind:
            case "asset":
                return ref in self.drafts
            case "event":
                return UUID(ref) in self.stored or UUID(ref) in self.brought
            case "model":
                return self.world.rulebook.first_model(ref) is not None
        return self.world.rulebook.site(ref, self.position.now) is not None

    async def has_arrived(self, reference: str) -> bool:
        """Say whether a reference is known by now: the organisation's lock is held, so it cannot come unseen."""
        kind, _, ref = reference.partition(":")
        if kind == "asset":
            await self.open_tags([ref])
        elif kind == "event":
            self.stored |= await events_by_ids(self.conn, self.organisation, [UUID(ref)])
        else:
            where = await position(self.conn, self.organisation)
            return where.context_seq != self.position.context_seq
        return self.is_known(reference)

    def take(self, accepted: Accepted) -> None:
        """Have an accepted event known to the decisions that follow."""
        event = accepted.recorded.event
        self.brought[event.id] = accepted
        self.accepted.append(accepted)
        self._supplied |= set(supplied(event))
        if isinstance(event, ReferenceEvent):
            self.world = self.known.with_rows(self.context())

    def context(self) -> list[Recorded]:
        """Give the context events accepted so far."""
        return [accepted.recorded for accepted in self.accepted if accepted.context]

    def supplied(self) -> Sequence[str]:
        """Name what was made known, for messages that wait."""
        return sorted(self._supplied)

    def world_to_be(self) -> World:
        """Give the world with the context events accepted here."""
        if self._to_be is None:
            context = self.context()
            self._to_be = self.known.with_rows(context) if context else self.world
        return self._to_be

    def tolerance(self, row: Recorded) -> timedelta:
        """Give how far the clock of an event's device may be off."""
        return self.world_to_be().tolerance(row.event.site or "", row.received_at)

    async def fold_anew_with(self, row: Recorded) -> None:
        """Have the kin of a recorded event folded anew."""
        tags = tags_of(row.event)
        await self.open_tags(tags)
        for tag in tags[:1]:
            self.drafts[tag].anew = True

    async def flagged(self, row: Recorded, others: Sequence[Recorded]) -> Recorded:
        """Mark new bad news that its device's counter contradicts, by the log or by this call."""
        return self.flag_again(await flagged(self.conn, self.organisation, row, self.world_to_be()), others)

    def flag_again(self, row: Recorded, others: Sequence[Recorded]) -> Recorded:
        """Mark bad news that an event of this call contradicts."""
        if row.suspect_order or not row.event.adverse():
            return row
        contradicted = any(contradict(row, other, self.tolerance(row)) for other in others)
        return msgspec.structs.replace(row, suspect_order=contradicted)

    async def as_written(self, draft: Draft, reports: list[Report]) -> Draft:
        """Give a kin of this transaction as it stands in the database now, folded with other reports."""
        again = (await load_drafts(self.conn, self.organisation, tags=sorted(draft.tags)))[0]
        await load_rows(self.conn, self.organisation, again, self.world_to_be())
        again.reports = reports
        again.anew = True
        await fold_whole(again, self.world_to_be())
        return again

    def touched(self) -> list[Draft]:
        """Give the drafts with something new, in order of name."""
        every = {id(draft): draft for draft in self.drafts.values() if draft.new or draft.anew or draft.again}
        return sorted(every.values(), key=lambda draft: draft.name)

    def conflicts(self, accepted: Accepted) -> tuple[Conflict, ...]:
        """Give the conflicts of an event as they are at its place in the log."""
        event = accepted.recorded.event
        if accepted.incoming.conflicts:
            return accepted.incoming.conflicts
        if isinstance(event, Trained) and set(event.competences) != set(granted(event)):
            return (Conflict("self-granted-competence"),)
        draft = self.drafts.get(accepted.tags[0]) if accepted.tags else None
        found = () if draft is None else draft.conflicts.get(event.id, ())
        return (*found, *self._mistyped(event), *self._left_out(accepted.recorded))

    def _mistyped(self, event: Event) -> Iterator[Conflict]:
        """Tell of a recall that nobody has opened, if only as a rehearsal: nothing waits for it (R46)."""
        if not isinstance(event, Quarantined | RecallActioned) or event.recall is None:
            return
        if all(opening.recall != event.recall for opening in self.world_to_be().recalls):
            rows = (row.event for row in (*self.known.rows, *self.context()))
            if not any(
                isinstance(one, RecallOpened) and one.recall == event.recall for one in rows
            ):  # a rehearsal is one
                yield UNKNOWN_RECALL

    def _left_out(self, row: Recorded) -> Iterator[Conflict]:
        """Tell of a rehearsal of a recall that was opened in earnest before: it counts for nothing (`Campaign`)."""
        event = row.event
        if not isinstance(event, RecallOpened) or not event.rehearsal:
            return
        before = (one.event for one in (*self.known.rows, *self.context()) if one.seq < row.seq)
        if any(isinstance(one, RecallOpened) and one.recall == event.recall and not one.rehearsal for one in before):
            yield REHEARSAL_LEFT_OUT

    def turned_away(self) -> dict[tuple[UUID, UUID], ContradictsHistory]:
        """Give what is not to be recorded, since it contradicts the history (3.7): by key and event what is told."""
        found = {}
        for accepted in self.accepted:
            conflicts = self._against(accepted) if accepted.guarded else None
            if conflicts is not None:
                found[accepted.recorded.key, accepted.recorded.event.id] = ContradictsHistory(conflicts)
        return found

    def _against(self, accepted: Accepted) -> tuple[Conflict, ...] | None:
        """Give the conflicts for which a guarded event is turned away, as its sender may know them; None for none.

        Of those with a unit of another site there may be none that its sender may know.
        """
        event, sites = accepted.recorded.event, accepted.incoming.sender.sites
        if not accepted.tags:
            return self.conflicts(accepted) or None
        away, mistyped = self.drafts[accepted.tags[0]].turned_away.get(event.id), tuple(self._mistyped(event))
        if away is None:
            return mistyped or None
        whole = sites is None or away.home is None or away.home in sites
        return (*(away.conflicts if whole else seen_from_afar(event, away.conflicts)), *mistyped)

    def entry(self, accepted: Accepted) -> Entry:
        """Give the event as it is appended."""
        kin = self.drafts[accepted.tags[0]].name if accepted.tags else None
        return entered(accepted, kin, self.conflicts(accepted))
