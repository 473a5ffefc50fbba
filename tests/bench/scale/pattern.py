"""Patterns: what is told of one unit, folded once by the service's own fold, and the forms of all rows that it makes.

Of other units of the pattern the same holds under other names: a fold looks at names only to tell them apart, but for
the ids it is marked at (`names.Members.draw`) and the names it makes of others (`names.uses`).
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from struct import pack
from uuid import UUID

import msgspec

from service.domain.codec import decode, encode, seal
from service.domain.conflict import Conflict
from service.domain.event import Event
from service.domain.leaf import Header, header_bytes, microseconds
from service.domain.recorded import Recorded
from service.domain.world import World
from service.recording.draft import Draft
from service.recording.filing import filed, tags_of
from tests.bench.scale import names
from tests.bench.scale.derived import rows_of
from tests.bench.scale.forms import Form, Gap, parted
from tests.bench.scale.packing import Row, Table
from tests.bench.scale.telling import Told

SEQ, RECORDED, HASHED_RECORDED, COUNTER, BODY, LEAF, VERSION, TEXT_KEY = (
    name.encode() for name in ("seq", "recorded", "recorded since 1970", "counter", "body", "leaf", "version", "key")
)
"""Gaps that are filled as rows are numbered."""
SAMPLE_SEQ = 0x5EA1_1EDB_0D1E_5EA1
SAMPLE_MOMENT = datetime.fromisoformat("1987-06-05T04:03:02.101987+00:00")

Origin = tuple[UUID, UUID]
"""Organisation and key."""
Tables = dict[str, Table]


class PatternEvent(msgspec.Struct, frozen=True):
    """An event of a pattern: when it was and came, what is hashed, and its rows.

    `moves` counts how often its unit was moved before; `counts` says that the kiosk there counted it.
    """

    occurred_at: datetime
    received_at: datetime
    moves: int
    counts: bool
    body: Form
    header: Form
    row: Form
    subjects: tuple[Form, ...]
    texts: tuple[Form, ...]


class Derived(msgspec.Struct, frozen=True):
    """A row that is derived, and the moment it is of, where it has one."""

    at: datetime | None
    form: Form


class Pattern:
    """Members, their events in order of receipt, and the rows derived of each by table."""

    def __init__(self, members: names.Members, of_class: int, origin: Origin, tables: Tables) -> None:
        self.members, self.of_class, self.origin, self.tables = members, of_class, origin, tables
        self.names: dict[bytes, names.Maker] = dict(names.plain_names(members, of_class))
        self.events: list[PatternEvent] = []
        self.derived: dict[str, list[Derived]] = {}

    def columns(self) -> names.Columns:
        """Give what fills the gaps."""
        return names.Columns(self.names)

    def form(self, table: str, row: Row) -> Form:
        """Give the form of a row."""
        return Form(self.tables[table].packed(row, self.names))

    def know(self, place: int, event: Event) -> None:
        """Draw the ids of an event's members, and know its names."""
        self.members.draw(event.id)
        self.names |= dict(names.ids(self.members, place, event.id))
        if event.device_seq is not None:
            self.names |= dict(names.numbers(self.members, place, event.device_seq))
        for text in _sealed(event)[1].values():
            self.names |= dict(names.texts(self.members, place, text, event.id))


def pattern_of(pattern: Pattern, told: Sequence[Told], world: World | None, *, late_agree: bool = False) -> Pattern:
    """Complete a pattern with what is told of its sample; without a world nothing is derived of it.

    `late_agree` says that what comes late contradicts nothing, whenever it comes: then it is folded in one go.
    """
    told = sorted(told, key=lambda one: one.received_at)
    events = [decode(msgspec.json.encode(one.message)) for one in told]
    for place, event in enumerate(events):
        pattern.know(place, event)
    rows = [
        _recorded(event, one, pattern.origin, seq) for seq, (event, one) in enumerate(zip(events, told, strict=True), 1)
    ]
    conflicts: dict[UUID, list[Conflict]] = {}
    if world is not None:
        draft = _folded(sorted(rows, key=_moment) if late_agree else rows, world)
        conflicts = draft.conflicts
        _derive(pattern, draft, (rows[0].received_at, rows[-1].received_at))
    by_id = {event.id: event for event in events}
    for event, one, row in zip(events, told, rows, strict=True):
        target = None if one.takes_back is None else by_id[one.takes_back]
        pattern.events.append(_event(pattern, one, row, target, tuple(conflicts.get(event.id, ()))))
    return pattern


def _sealed(event: Event) -> tuple[Event, dict[str, str]]:
    return seal(event, names.text_key(event.id.bytes))


def _recorded(event: Event, told: Told, origin: Origin, seq: int) -> Recorded:
    organisation, key = origin
    return Recorded(
        event=_sealed(event)[0],
        organisation=organisation,
        seq=seq,
        received_at=told.received_at,
        recorded_at=told.received_at,
        sent_at=told.received_at,
        key=key,
    )


def _moment(row: Recorded) -> datetime:
    return row.event.occurred_at or row.received_at


def _folded(rows: list[Recorded], world: World) -> Draft:
    """Fold them as they come, from nothing."""
    draft = Draft()
    draft.tags = {tag for row in rows for tag in tags_of(row.event)}
    draft.old, draft.new, draft.anew = [], rows, True
    draft.fold_anew(world)
    return draft


def _derive(pattern: Pattern, draft: Draft, days: tuple[datetime, datetime]) -> None:
    """Put down the forms of what the fold derives."""
    if draft.story is None:  # pragma: no cover - a draft that was folded has one
        raise RuntimeError(draft.name)
    for story in draft.story.stories:
        pattern.names |= dict(names.uses(pattern.members, story.folded.unit, days, pattern.of_class))
    for table, row in rows_of(pattern.origin[0], draft.write(), Gap(VERSION, 8)):
        at = row.get("since", row.get("at"))
        pattern.derived.setdefault(table, []).append(Derived(at, pattern.form(table, row)))


def _event(
    pattern: Pattern, told: Told, row: Recorded, target: Event | None, conflicts: tuple[Conflict, ...]
) -> PatternEvent:
    """Put down the forms of an event's rows."""
    event, organisation = row.event, row.organisation
    body = Form(parted(encode(event), pattern.names))
    device = None if event.family == "reference" else event.device
    columns = {
        "organisation": organisation,
        "seq": Gap(SEQ, 8),
        "id": event.id,
        "kind": event.kind,
        "kind_version": event.version,
        "instant": event.occurred_at,
        "on_day": event.occurred_on,
        "by_ref": event.by,
        "site": event.site,
        "device": device,
        "device_seq": None if device is None else Gap(COUNTER, 8),
        "received_at": row.received_at,
        "recorded_at": Gap(RECORDED, 8),
        "sent_at": row.sent_at,
        "key": row.key,
        "imported": row.imported,
        "body": Gap(BODY, body.size),
        "leaf": Gap(LEAF, 32),
        "conflicts": msgspec.json.encode(conflicts),
    }
    subjects = ({"organisation": organisation, "subject": subject, "instant": at, "seq": Gap(SEQ, 8)}
                for subject, at in dict.fromkeys(filed(row, target)))  # fmt: skip
    return PatternEvent(
        occurred_at=told.occurred_at,
        received_at=told.received_at,
        moves=told.place,
        counts=device is not None,
        body=body,
        header=_header(row),
        row=pattern.form("event", columns),
        subjects=tuple(pattern.form("event_subject", subject) for subject in subjects),
        texts=tuple(_texts(pattern, told, event.id)),
    )


def _texts(pattern: Pattern, told: Told, ident: UUID) -> Iterator[Form]:
    for path, text in _sealed(decode(msgspec.json.encode(told.message)))[1].items():
        row = {"organisation": pattern.origin[0], "event": ident, "path": path, "key": Gap(TEXT_KEY, 32), "text": text}
        yield pattern.form("free_text", row)


def _header(row: Recorded) -> Form:
    """Put down what is hashed before the body."""
    written = header_bytes(
        Header(
            organisation=row.organisation,
            seq=SAMPLE_SEQ,
            recorded_at=SAMPLE_MOMENT,
            received_at=row.received_at,
            sent_at=row.sent_at,
            key=row.key,
            kind_version=row.event.version,
            imported=row.imported,
        )
    )
    before, rest = written.split(pack("!q", SAMPLE_SEQ))
    between, after = rest.split(pack("!q", microseconds(SAMPLE_MOMENT)))
    return Form([before, Gap(SEQ, 8), between, Gap(HASHED_RECORDED, 8), after])
