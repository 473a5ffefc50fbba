"""The desk: decides messages one after the other, each in sight of those accepted before it in the same call.

It reads what the decisions need in the caller's transaction and writes nothing.
"""

import os
from collections.abc import Iterable, Sequence
from datetime import timedelta
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.codec import blank, encode, seal
from service.domain.conflict import Conflict
from service.domain.errors import (
    ContentClash,
    Malformed,
    OwnAdverseEvent,
    PolicyRefused,
    PreconditionRequired,
    SiteNotAllowed,
    TagTaken,
    UnknownReference,
    VersionMismatch,
)
from service.domain.event import Event, ReferenceEvent
from service.domain.kin import Report
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.trained import Trained
from service.domain.kinds.voided import Voided
from service.domain.limits import refusal
from service.domain.people import granted
from service.domain.recorded import Recorded
from service.domain.voiding import own
from service.domain.world import World
from service.known import Known
from service.recording.admission import admitted
from service.recording.device import contradict
from service.recording.draft import Draft, serial_ref
from service.recording.filing import filed, tags_of
from service.recording.incoming import Incoming, Read, Repeat
from service.recording.loading import flagged, load_drafts, load_rows
from service.recording.references import changed, is_context, supplied, wanted
from service.store.append import CONTEXT, Entry, FreeText
from service.store.events_by_ids import events_by_ids
from service.store.kins_depending_on import kins_depending_on
from service.store.newest_of_subject import newest_of_subject
from service.store.position import Position, position
from service.store.stored import Stored
from service.store.texts_of_events import texts_of_events

UNSAID = -1
"""Nothing was said of the version that a change starts from."""
CONFLICTS = msgspec.json.Decoder(tuple[Conflict, ...])


class Accepted(msgspec.Struct, frozen=True, kw_only=True):
    """An event that is to be recorded. `recorded.seq` is provisional: only its order counts."""

    incoming: Incoming
    recorded: Recorded
    body: bytes
    texts: tuple[FreeText, ...]
    context: bool
    tags: tuple[str, ...]
    target: Event | None = None


class Again(msgspec.Struct, frozen=True):
    """A message whose event another message of the same call brings."""

    accepted: Accepted


Decision = Accepted | Again | Repeat


class Desk:
    """What is known in one transaction, and what was decided in it."""

    def __init__(self, conn: AsyncConnection, organisation: UUID, position: Position, known: Known) -> None:
        self.conn = conn
        self.organisation = organisation
        self.position = position
        self.known = known
        self.world = known.world(position.context_seq)
        self.accepted: list[Accepted] = []
        self.drafts: dict[str, Draft] = {}
        self.refs: set[str] = set()
        self._by_id: dict[UUID, Accepted] = {}
        self._stored: dict[UUID, Stored] = {}
        self._texts: dict[UUID, list[FreeText]] = {}
        self._supplied: set[str] = set()
        self._serials: dict[str, Draft] = {}
        self._to_be: World | None = None

    async def look_up(self, reads: Iterable[Read]) -> None:
        """Read at once what the messages name: events by id, and kins by tag."""
        events = [read.event for read in reads if read.event is not None]
        named = [reference for event in events for _, reference in wanted(event)]
        ids = {event.id for event in events} | {UUID(ref[6:]) for ref in named if ref.startswith("event:")}
        while missing := ids - self._stored.keys():
            found = await events_by_ids(self.conn, self.organisation, missing)
            self._stored |= found
            ids = {one.recorded.event.event for one in found.values() if isinstance(one.recorded.event, Voided)}
        self._texts |= await texts_of_events(self.conn, self.organisation, self._stored)
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
        return [self.drafts[name] for name in wanted_names]

    def world_to_be(self) -> World:
        """Give the world with the context events accepted here."""
        if self._to_be is None:
            context = self.context()
            self._to_be = self.known.with_rows(context) if context else self.world
        return self._to_be

    def tolerance(self, row: Recorded) -> timedelta:
        """Give how far the clock of an event's device may be off."""
        return self.world.tolerance(row.event.site or "", row.received_at)

    async def fold_anew_with(self, row: Recorded) -> None:
        """Have the kin of a recorded event folded anew."""
        tags = tags_of(row.event)
        await self.open_tags(tags)
        for tag in tags[:1]:
            self.drafts[tag].anew = True

    async def flagged(self, row: Recorded, others: Sequence[Recorded]) -> Recorded:
        """Mark new bad news that its device's counter contradicts, by the log or by this call."""
        return self.flag_again(await flagged(self.conn, self.organisation, row, self.world), others)

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
        again.fold_anew(self.world_to_be())
        return again

    def _take(self, draft: Draft) -> None:
        for tag in draft.tags:
            self.drafts.setdefault(tag, draft)

    def _voided_tags(self) -> set[str]:
        return {tag for stored in self._stored.values() for tag in tags_of(stored.recorded.event)}

    async def decide(self, read: Read) -> Decision:
        """Decide one message. Raises Refused."""
        if read.event is None:
            raise read.refused or Malformed("", "no event")
        sender = read.incoming.sender
        event = admitted(read.event, sender, self.world)
        known = self._known_already(event, sender.sites)
        if known is not None:
            return known
        self._demand_references(event)
        target = self._demand_voidable(event, read)
        if isinstance(event, ReferenceEvent):
            self._demand_lawful(event)
            if read.incoming.starts_from is not None:
                await self._demand_version(event, read.incoming.starts_from)
        accepted = self._accept(event, read.incoming, target)
        await self._place(accepted, target)
        self._by_id[event.id] = accepted
        self.accepted.append(accepted)
        self._supplied |= set(supplied(event))
        if isinstance(event, ReferenceEvent):
            self.world = self.known.with_rows(self.context())
        return accepted

    def context(self) -> list[Recorded]:
        """Give the context events accepted so far."""
        return [accepted.recorded for accepted in self.accepted if accepted.context]

    def _known_already(self, event: Event, sites: frozenset[str] | None) -> Decision | None:
        """Give the repeat that the event is. Raises ContentClash where its id has other content."""
        earlier = self._by_id.get(event.id)
        if earlier is not None:
            key = earlier.texts[0].key if earlier.texts else b""
            if encode(seal(event, key)[0]) != earlier.body:
                raise ContentClash
            return Again(earlier)
        stored = self._stored.get(event.id)
        if stored is None:
            return None
        unreadable = sites is not None and stored.recorded.event.site not in sites
        if unreadable or not self._same(event, stored):
            raise ContentClash
        return Repeat(stored.recorded, CONFLICTS.decode(stored.conflicts))

    def _same(self, event: Event, stored: Stored) -> bool:
        """Compare with the log: texts under the key of the first; erased ones are left out of account."""
        texts = self._texts.get(event.id)
        if texts:
            return encode(seal(event, texts[0].key)[0]) == stored.body
        sealed, said = seal(event, b"")
        if not said:
            return encode(sealed) == stored.body
        return encode(blank(sealed)) == encode(blank(stored.recorded.event))

    def _demand_references(self, event: Event) -> None:
        for pointer, reference in wanted(event):
            if not self._is_known(reference):
                raise UnknownReference(pointer, reference, waits=True)

    async def has_arrived(self, reference: str) -> bool:
        """Say whether a reference is known by now: the organisation's lock is held, so it cannot come unseen."""
        kind, _, ref = reference.partition(":")
        if kind == "asset":
            await self.open_tags([ref])
        elif kind == "event":
            self._stored |= await events_by_ids(self.conn, self.organisation, [UUID(ref)])
        else:
            where = await position(self.conn, self.organisation)
            return where.context_seq != self.position.context_seq
        return self._is_known(reference)

    def _is_known(self, reference: str) -> bool:
        if reference in self._supplied:
            return True
        kind, _, ref = reference.partition(":")
        match kind:
            case "asset":
                return ref in self.drafts
            case "event":
                return UUID(ref) in self._stored or UUID(ref) in self._by_id
            case "model":
                return self.world.rulebook.first_model(ref) is not None
        return self.world.rulebook.site(ref, self.position.now) is not None

    def _demand_voidable(self, event: Event, read: Read) -> Recorded | None:
        """Give the event that is voided. Raises OwnAdverseEvent (R27), or SiteNotAllowed without authority over it."""
        if not isinstance(event, Voided):
            return None
        stored = self._stored.get(event.event)
        target = self._by_id[event.event].recorded if stored is None else stored.recorded
        sites = read.incoming.sender.sites
        if sites is not None:
            self._demand_authority(target, sites)
        provisional = self._recorded(event, read.incoming)
        if target.event.adverse() and not isinstance(target.event, Voided) and own(provisional, target):
            raise OwnAdverseEvent
        return target

    def _demand_authority(self, target: Recorded, sites: frozenset[str]) -> None:
        """Raise SiteNotAllowed for an event of another site; of one that names none, the site of its unit counts."""
        site = target.event.site
        if site is None:
            tags = tags_of(self._root(target).event)
            left = self.drafts[tags[0]].standing_site(tags[0]) if tags and tags[0] in self.drafts else None
            site = left or "of the whole firm"
        if site not in sites:
            raise SiteNotAllowed(site)

    async def _demand_version(self, event: ReferenceEvent, starts_from: int) -> None:
        """Raise PreconditionRequired or VersionMismatch where the change does not start from the version there is."""
        subject = event.subjects()[0]
        current = await newest_of_subject(self.conn, self.organisation, subject, event.kind)
        if starts_from == UNSAID and current is not None:
            raise PreconditionRequired(current)
        if starts_from not in {UNSAID, current or 0}:
            raise VersionMismatch(current)

    def _demand_lawful(self, event: ReferenceEvent) -> None:
        """Raise PolicyRefused for what the law does not allow, Malformed for what no site or policy can be."""
        found = refusal(event, self.world.rulebook)
        if found is not None and found.clause:
            raise PolicyRefused(found.pointer, found.detail, found.clause)
        if found is not None:
            raise Malformed(found.pointer, found.detail)

    def _accept(self, event: Event, incoming: Incoming, target: Recorded | None) -> Accepted:
        key = os.urandom(32)
        sealed, texts = seal(event, key)
        recorded = self._recorded(sealed, incoming)
        return Accepted(
            incoming=incoming,
            recorded=recorded,
            body=encode(sealed),
            texts=tuple(FreeText(path=path, key=key, text=text) for path, text in texts.items()),
            context=is_context(event, None if target is None else self._root(target).event),
            tags=tags_of(self._root(target).event if target is not None else event),
            target=None if target is None else self._root(target).event,
        )

    def _root(self, target: Recorded) -> Recorded:
        """Follow voidings of voidings to the event that is at stake."""
        while isinstance(target.event, Voided):
            stored = self._stored.get(target.event.event)
            found = self._by_id.get(target.event.event)
            following = stored.recorded if stored is not None else found.recorded if found is not None else None
            if following is None:
                break
            target = following
        return target

    def _recorded(self, event: Event, incoming: Incoming) -> Recorded:
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

    async def _place(self, accepted: Accepted, target: Recorded | None) -> None:
        """Put the event into the drafts it touches, and say what the call changes or claims."""
        event = accepted.recorded.event
        if isinstance(event, Registered):
            await self._register(event)
        elif isinstance(event, Retagged):
            await self._retag(event)
        if accepted.context:
            self.refs |= set(changed(event if target is None else self._root(target).event))
        await self.open_tags(accepted.tags)
        for tag in accepted.tags[:1]:
            draft = self.drafts[tag]
            draft.new.append(accepted.recorded)
            draft.anew = draft.anew or isinstance(event, Voided | Registered | Retagged)

    async def _register(self, event: Registered) -> None:
        """Join the tag to the unit of that maker and serial, and to the unit it is fitted to. Raises TagTaken."""
        serial = serial_ref(self.world.maker(event.model), event.serial)
        draft = self.drafts.get(event.asset)
        if draft is not None:
            await self._demand_free(draft, event.asset, serial, "/asset")
        else:
            draft = Draft()
            draft.tags.add(event.asset)
            self.drafts[event.asset] = draft
        self.refs.add(serial)
        same = await self.open_kins(await kins_depending_on(self.conn, self.organisation, [serial]))
        others = [*same, *([self._serials[serial]] if serial in self._serials else [])]
        if event.fitted_to is not None:
            await self.open_tags([event.fitted_to])
            others.append(self.drafts[event.fitted_to])
        for other in others:
            draft = self._join(draft, other)
        self._serials[serial] = draft

    async def _retag(self, event: Retagged) -> None:
        """Join the new tag to the unit's kin. Raises TagTaken."""
        draft = self.drafts[event.asset]
        taken = self.drafts.get(event.new_tag)
        if taken is not None:
            await self._demand_free(taken, event.new_tag, "", "/new_tag")
            draft = self._join(draft, taken)
        draft.tags.add(event.new_tag)
        self.drafts[event.new_tag] = draft

    def _join(self, one: Draft, other: Draft) -> Draft:
        if one is other:
            return one
        one.absorb(other)
        self.drafts |= dict.fromkeys(one.tags, one)
        self._serials |= {serial: one for serial, draft in self._serials.items() if draft is other}
        return one

    async def _demand_free(self, draft: Draft, tag: str, serial: str, pointer: str) -> None:
        """Raise TagTaken where another unit, not retired, has the tag now (R47)."""
        await load_rows(self.conn, self.organisation, draft, self.world)
        draft.fold_anew(self.world)
        left = draft.left(tag)
        if left is None or left.unit.retired:
            return
        if serial_ref(left.unit.maker, left.unit.serial) != serial:
            raise TagTaken(pointer, tag)

    def supplied(self) -> Sequence[str]:
        """Name what was made known, for messages that wait."""
        return sorted(self._supplied)

    def touched(self) -> list[Draft]:
        """Give the drafts with something new, in order of name."""
        every = {id(draft): draft for draft in self.drafts.values() if draft.new or draft.anew}
        return sorted(every.values(), key=lambda draft: draft.name)

    def conflicts(self, accepted: Accepted) -> tuple[Conflict, ...]:
        """Give the conflicts of an event as they are at its place in the log."""
        event = accepted.recorded.event
        if isinstance(event, Trained) and set(event.competences) != set(granted(event)):
            return (Conflict("self-granted-competence"),)
        draft = self.drafts.get(accepted.tags[0]) if accepted.tags else None
        return () if draft is None else tuple(draft.conflicts.get(event.id, ()))

    def entry(self, accepted: Accepted) -> Entry:
        """Give the event as it is appended."""
        row, event = accepted.recorded, accepted.recorded.event
        device = None if isinstance(event, ReferenceEvent) else event.device
        return Entry(
            id=event.id,
            kind=event.kind,
            kind_version=event.version,
            instant=event.occurred_at,
            on_day=event.occurred_on,
            by=event.by,
            site=event.site,
            device=device,
            device_seq=None if device is None else event.device_seq,
            received_at=row.received_at,
            sent_at=row.sent_at,
            key=row.key,
            imported=row.imported,
            body=accepted.body,
            conflicts=msgspec.json.encode(self.conflicts(accepted)),
            subjects=tuple(pair for pair in filed(row, accepted.target) if pair[0] != CONTEXT),
            texts=accepted.texts,
            kin=self.drafts[accepted.tags[0]].name if accepted.tags else None,
            context=accepted.context,
        )
