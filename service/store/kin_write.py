"""What an append writes for a kin: its snapshot, its units, their standing in time, what its judgement asked for.

A kin is the group of tags whose histories hang together: it is folded, versioned and locked as one.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec

from service.store.arrays import Bigints, Blobs, Booleans, Instants, Integers, Sinces, Texts, Untils, Uuids


class IntervalRow(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """One span of a unit's overall standing, half-open; `until` None has no end."""

    since: datetime
    until: datetime | None
    site: str
    model: str
    phase: str
    in_scope: bool
    standing: str
    do_not_use: bool
    rules: bytes


class UseRow(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """One use by its name, and from when on no check covered it; None for never.

    `worn` says that it is a wearing, `known_by` by what kind of event, `ends` when that ended, if it was said, `day` is
    the other end of its day, if it states no more, `counted` says that the summary counts it; `forbidden` are the
    reasons why the unit was not to be used, joined by commas.
    """

    at: datetime
    site: str
    lapse: datetime | None
    ref: UUID
    person: str | None = None
    worn: bool = False
    counted: bool = True
    forbidden: str | None = None
    ends: datetime | None = None
    known_by: str | None = None
    day: datetime | None = None


class FindingRow(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """Something found of one event of a unit, for one exception report; `reasons` are joined by commas."""

    at: datetime
    report: str
    event: UUID
    site: str
    person: str
    reasons: str


class StayRow(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """A part in a position of a unit, or the unit in a hand (""), half-open; `until` None has no end.

    One that ends as it begins is none: what is stored of it goes.

    `item` and `lot` are what a part is found by, `told` is all that is known of the stay.
    """

    position: str
    since: datetime
    until: datetime | None
    item: str | None
    lot: str | None
    told: bytes


class UnitRow(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """A unit as its newest fold shows it.

    `next_uses` are those that time will make of it before `next_until` (None: ever), the first `next_covered` of them
    covered by a check, the first `next_sound` with nothing else against them either.
    From `rewrite_from` on its intervals are those given (None: all of them), and one that reaches over that moment is
    cut there; from `uses_from` on its uses are, and from `findings_from` on its findings: far future only adds some.
    What begins at or after `rewrite_until`, `uses_until` and `findings_until` stays as it is (None: nothing does). Its
    stays that began after `stays_from` are those given, but for those that last beyond `stays_until`.
    """

    unit: UUID
    tag: str
    site: str
    model: str
    phase: str
    standing: str
    in_scope: bool
    do_not_use: bool
    card: bytes
    outlook: bytes
    next_uses: tuple[datetime, ...] = ()
    next_covered: int = 0
    next_sound: int = 0
    next_until: datetime | None = None
    rewrite_from: datetime | None
    uses_from: datetime | None
    findings_from: datetime | None
    intervals: tuple[IntervalRow, ...]
    uses: tuple[UseRow, ...]
    findings: tuple[FindingRow, ...] = ()
    rewrite_until: datetime | None = None
    uses_until: datetime | None = None
    findings_until: datetime | None = None
    stays: tuple[StayRow, ...] = ()
    stays_from: datetime | None = None
    stays_until: datetime | None = None


class MarkRow(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """A place that the fold of a kin can be taken up from: the last instant before it, and the state there."""

    at: datetime
    state: bytes


class KinWrite(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """A kin to write.

    `expected` is the version the decision knew, 0 for a new kin; once written it has another, never used before. `tags`
    are all of its tags, `units` all of its units (others of it are removed), `absorbed` the kins merged into it with
    their expected versions. `dependencies` None leaves them as they are. From `marks_from` on the marks are those
    given: None for all of them, and the far future only adds some; from `marks_until` on they stay as they are.
    """

    kin: str
    expected: int
    tags: tuple[str, ...]
    absorbed: tuple[tuple[str, int], ...] = ()
    snapshot: bytes
    units: tuple[UnitRow, ...]
    dependencies: tuple[str, ...] | None
    marks: tuple[MarkRow, ...] = ()
    marks_from: datetime | None = None
    marks_until: datetime | None = None


class KinTwice(ValueError):
    """One call writes a kin once."""


KINS: Final = """
    ARRAY (SELECT ROW (n.*)::ledger.new_kin FROM unnest(
        %(kin)s::text[], %(kin_expected)s::bigint[], %(kin_owed)s::boolean[], %(kin_keeps)s::boolean[],
        %(kin_snapshot)s::bytea[], %(kin_marks_from)s::timestamptz[], %(kin_marks_until)s::timestamptz[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_tag FROM unnest(
        %(tag_place)s::integer[], %(tag_kin)s::text[], %(tag)s::text[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_absorbed FROM unnest(
        %(absorbed_place)s::integer[], %(absorbed_kin)s::text[], %(absorbed)s::text[],
        %(absorbed_version)s::bigint[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_unit FROM unnest(
        %(unit_place)s::integer[], %(unit_kin)s::text[], %(unit)s::uuid[], %(unit_tag)s::text[], %(unit_site)s::text[],
        %(unit_model)s::text[], %(unit_phase)s::text[], %(unit_standing)s::text[], %(unit_in_scope)s::boolean[],
        %(unit_do_not_use)s::boolean[], %(unit_card)s::bytea[], %(unit_outlook)s::bytea[],
        %(unit_next_uses)s::text[], %(unit_next_covered)s::integer[], %(unit_next_sound)s::integer[],
        %(unit_next_until)s::timestamptz[],
        %(unit_rewrite_from)s::timestamptz[], %(unit_uses_from)s::timestamptz[],
        %(unit_findings_from)s::timestamptz[], %(unit_rewrite_until)s::timestamptz[],
        %(unit_uses_until)s::timestamptz[], %(unit_findings_until)s::timestamptz[],
        %(unit_stays_from)s::timestamptz[], %(unit_stays_until)s::timestamptz[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_interval FROM unnest(
        %(interval_place)s::integer[], %(interval_unit)s::uuid[], %(interval_since)s::timestamptz[],
        %(interval_until)s::timestamptz[], %(interval_site)s::text[], %(interval_model)s::text[],
        %(interval_phase)s::text[], %(interval_in_scope)s::boolean[], %(interval_standing)s::text[],
        %(interval_do_not_use)s::boolean[], %(interval_rules)s::bytea[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_use FROM unnest(
        %(use_place)s::integer[], %(use_unit)s::uuid[], %(use_at)s::timestamptz[], %(use_site)s::text[],
        %(use_lapse)s::timestamptz[], %(use_ref)s::uuid[], %(use_person)s::text[], %(use_worn)s::boolean[],
        %(use_counted)s::boolean[], %(use_forbidden)s::text[], %(use_ends)s::timestamptz[],
        %(use_known_by)s::text[], %(use_day)s::timestamptz[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_finding FROM unnest(
        %(finding_place)s::integer[], %(finding_unit)s::uuid[], %(finding_at)s::timestamptz[],
        %(finding_report)s::text[], %(finding_event)s::uuid[], %(finding_site)s::text[], %(finding_person)s::text[],
        %(finding_reasons)s::text[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_stay FROM unnest(
        %(stay_place)s::integer[], %(stay_unit)s::uuid[], %(stay_position)s::text[], %(stay_since)s::timestamptz[],
        %(stay_until)s::timestamptz[], %(stay_item)s::text[], %(stay_lot)s::text[], %(stay_told)s::bytea[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_dependency FROM unnest(
        %(dependency_place)s::integer[], %(dependency_kin)s::text[], %(dependency)s::text[]) n),
    ARRAY (SELECT ROW (n.*)::ledger.new_mark FROM unnest(
        %(mark_place)s::integer[], %(mark_kin)s::text[], %(mark_at)s::timestamptz[], %(mark_state)s::bytea[]) n))
"""
"""The last arguments of every call that writes kins; their places count from one."""


def kin_columns(kins: Sequence[KinWrite], owed: Sequence[bool]) -> dict[str, object]:
    """Lay kins out in columns for KINS; `owed` says which are written because of another kin's event."""
    if len({kin.kin for kin in kins}) != len(kins):
        raise KinTwice
    placed = list(enumerate(kins, start=1))
    tags = [(place, kin.kin, tag) for place, kin in placed for tag in kin.tags]
    absorbed = [(place, kin.kin, *other) for place, kin in placed for other in kin.absorbed]
    wanted = [(place, kin.kin, ref) for place, kin in placed for ref in kin.dependencies or ()]
    marked = [(place, kin.kin, row) for place, kin in placed for row in kin.marks]
    return {
        "kin": Texts(kin.kin for kin in kins),
        "kin_expected": Bigints(kin.expected for kin in kins),
        "kin_owed": Booleans(owed),
        "kin_keeps": Booleans(kin.dependencies is None for kin in kins),
        "kin_snapshot": Blobs(kin.snapshot for kin in kins),
        "kin_marks_from": Sinces(kin.marks_from for kin in kins),
        "kin_marks_until": Untils(kin.marks_until for kin in kins),
        "tag_place": Integers(row[0] for row in tags),
        "tag_kin": Texts(row[1] for row in tags),
        "tag": Texts(row[2] for row in tags),
        "absorbed_place": Integers(row[0] for row in absorbed),
        "absorbed_kin": Texts(row[1] for row in absorbed),
        "absorbed": Texts(row[2] for row in absorbed),
        "absorbed_version": Bigints(row[3] for row in absorbed),
        "dependency_place": Integers(row[0] for row in wanted),
        "dependency_kin": Texts(row[1] for row in wanted),
        "dependency": Texts(row[2] for row in wanted),
        "mark_place": Integers(place for place, _, _ in marked),
        "mark_kin": Texts(kin for _, kin, _ in marked),
        "mark_at": Instants(row.at for _, _, row in marked),
        "mark_state": Blobs(row.state for _, _, row in marked),
        **_unit_columns([(place, kin.kin, unit) for place, kin in placed for unit in kin.units]),
        **_interval_columns(
            [(place, unit.unit, row) for place, kin in placed for unit in kin.units for row in unit.intervals]
        ),
        **_use_columns([(place, unit.unit, row) for place, kin in placed for unit in kin.units for row in unit.uses]),
        **_finding_columns(
            [(place, unit.unit, row) for place, kin in placed for unit in kin.units for row in unit.findings]
        ),
        **_stay_columns([(place, unit.unit, row) for place, kin in placed for unit in kin.units for row in unit.stays]),
    }


def _unit_columns(rows: Sequence[tuple[int, str, UnitRow]]) -> dict[str, object]:
    """Lay units out in columns."""
    return {
        "unit_place": Integers(place for place, _, _ in rows),
        "unit_kin": Texts(kin for _, kin, _ in rows),
        "unit": Uuids(row.unit for _, _, row in rows),
        "unit_tag": Texts(row.tag for _, _, row in rows),
        "unit_site": Texts(row.site for _, _, row in rows),
        "unit_model": Texts(row.model for _, _, row in rows),
        "unit_phase": Texts(row.phase for _, _, row in rows),
        "unit_standing": Texts(row.standing for _, _, row in rows),
        "unit_in_scope": Booleans(row.in_scope for _, _, row in rows),
        "unit_do_not_use": Booleans(row.do_not_use for _, _, row in rows),
        "unit_card": Blobs(row.card for _, _, row in rows),
        "unit_outlook": Blobs(row.outlook for _, _, row in rows),
        "unit_next_uses": Texts(_moments(row.next_uses) for _, _, row in rows),
        "unit_next_covered": Integers(row.next_covered for _, _, row in rows),
        "unit_next_sound": Integers(row.next_sound for _, _, row in rows),
        "unit_next_until": Untils(row.next_until for _, _, row in rows),
        "unit_rewrite_from": Sinces(row.rewrite_from for _, _, row in rows),
        "unit_uses_from": Sinces(row.uses_from for _, _, row in rows),
        "unit_findings_from": Sinces(row.findings_from for _, _, row in rows),
        "unit_rewrite_until": Untils(row.rewrite_until for _, _, row in rows),
        "unit_uses_until": Untils(row.uses_until for _, _, row in rows),
        "unit_findings_until": Untils(row.findings_until for _, _, row in rows),
        "unit_stays_from": Sinces(row.stays_from for _, _, row in rows),
        "unit_stays_until": Untils(row.stays_until for _, _, row in rows),
    }


def _moments(moments: Iterable[datetime]) -> str:
    """Write moments as PostgreSQL writes an array of them: arrays of one column would have to be of one length."""
    return f"{{{','.join(at.isoformat() for at in moments)}}}"


def _interval_columns(rows: Sequence[tuple[int, UUID, IntervalRow]]) -> dict[str, object]:
    """Lay intervals out in columns."""
    return {
        "interval_place": Integers(place for place, _, _ in rows),
        "interval_unit": Uuids(unit for _, unit, _ in rows),
        "interval_since": Instants(row.since for _, _, row in rows),
        "interval_until": Untils(row.until for _, _, row in rows),
        "interval_site": Texts(row.site for _, _, row in rows),
        "interval_model": Texts(row.model for _, _, row in rows),
        "interval_phase": Texts(row.phase for _, _, row in rows),
        "interval_in_scope": Booleans(row.in_scope for _, _, row in rows),
        "interval_standing": Texts(row.standing for _, _, row in rows),
        "interval_do_not_use": Booleans(row.do_not_use for _, _, row in rows),
        "interval_rules": Blobs(row.rules for _, _, row in rows),
    }


def _use_columns(rows: Sequence[tuple[int, UUID, UseRow]]) -> dict[str, object]:
    """Lay uses out in columns."""
    return {
        "use_place": Integers(place for place, _, _ in rows),
        "use_unit": Uuids(unit for _, unit, _ in rows),
        "use_at": Instants(row.at for _, _, row in rows),
        "use_site": Texts(row.site for _, _, row in rows),
        "use_lapse": Instants(row.lapse for _, _, row in rows),
        "use_ref": Uuids(row.ref for _, _, row in rows),
        "use_person": Texts(row.person for _, _, row in rows),
        "use_worn": Booleans(row.worn for _, _, row in rows),
        "use_counted": Booleans(row.counted for _, _, row in rows),
        "use_forbidden": Texts(row.forbidden for _, _, row in rows),
        "use_ends": Instants(row.ends for _, _, row in rows),
        "use_known_by": Texts(row.known_by for _, _, row in rows),
        "use_day": Instants(row.day for _, _, row in rows),
    }


def _finding_columns(rows: Sequence[tuple[int, UUID, FindingRow]]) -> dict[str, object]:
    """Lay findings out in columns."""
    return {
        "finding_place": Integers(place for place, _, _ in rows),
        "finding_unit": Uuids(unit for _, unit, _ in rows),
        "finding_at": Instants(row.at for _, _, row in rows),
        "finding_report": Texts(row.report for _, _, row in rows),
        "finding_event": Uuids(row.event for _, _, row in rows),
        "finding_site": Texts(row.site for _, _, row in rows),
        "finding_person": Texts(row.person for _, _, row in rows),
        "finding_reasons": Texts(row.reasons for _, _, row in rows),
    }


def _stay_columns(rows: Sequence[tuple[int, UUID, StayRow]]) -> dict[str, object]:
    """Lay stays out in columns."""
    return {
        "stay_place": Integers(place for place, _, _ in rows),
        "stay_unit": Uuids(unit for _, unit, _ in rows),
        "stay_position": Texts(row.position for _, _, row in rows),
        "stay_since": Instants(row.since for _, _, row in rows),
        "stay_until": Untils(row.until for _, _, row in rows),
        "stay_item": Texts(row.item for _, _, row in rows),
        "stay_lot": Texts(row.lot for _, _, row in rows),
        "stay_told": Blobs(row.told for _, _, row in rows),
    }
