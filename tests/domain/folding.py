"""Folds what the oracle is given with the service's own domain, and shows it in the oracle's form."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import cache, cached_property, lru_cache
from typing import Any
from uuid import NAMESPACE_OID, UUID, uuid5

import msgspec

from service.domain import kin, people
from service.domain.caller import KeyHolder
from service.domain.codec import decode
from service.domain.conflict import CODES
from service.domain.context import world_of
from service.domain.event import AssetEvent, Event
from service.domain.finding import Finding
from service.domain.fold import Story, passing
from service.domain.intervals import Interval
from service.domain.kin import told_of
from service.domain.kinds.trained import Trained
from service.domain.label import normal
from service.domain.recorded import Recorded
from service.domain.uses import against
from service.domain.view import at_moment, shown
from service.domain.voiding import voidings
from service.domain.wearing import Use
from service.domain.world import World
from tests.oracle.findings import Found
from tests.oracle.record import Record, Report

PART = ("position", "item", "lot", "fitted_at")
ORGANISATION = UUID(int=7)

Unit = tuple[str, str]


@cache
def key_of(name: str) -> UUID:
    """Give the key a name stands for."""
    return uuid5(NAMESPACE_OID, name)


@lru_cache(4096)
def posted(text: bytes) -> Event:
    """Read a message; a history is folded again and again, each time with one message more."""
    return msgspec.structs.replace(decode(text), sent_at=None)


def recorded(records: Iterable[Record]) -> list[Recorded]:
    """Give the rows of the log."""
    return [
        Recorded(
            event=posted(msgspec.json.encode(record.message)),
            organisation=ORGANISATION,
            seq=record.seq,
            received_at=record.received_at,
            recorded_at=record.recorded_at,
            sent_at=record.sent_at,
            key=key_of(record.key),
            imported=record.imported,
        )
        for record in records
    ]


def keys(records: Iterable[Record]) -> dict[UUID, KeyHolder]:
    """Give what each key is bound to."""
    return {key_of(record.key): KeyHolder(record.role, record.sites) for record in records}  # type: ignore[arg-type] # roles are plain text there


def contradicted(rows: Sequence[Recorded], there: World) -> list[Recorded]:
    """Mark bad news whose device's counter another event of the device contradicts by more than the tolerance."""
    told = [(row.event.device, row.event.device_seq, row.event.occurred_at) for row in rows]
    counted = [(device, number, at) for device, number, at in told if device and number is not None and at is not None]

    def suspect(row: Recorded) -> bool:
        mine = row.event
        if mine.device_seq is None or mine.occurred_at is None or mine.device is None or not mine.adverse():
            return False
        tolerance = there.tolerance(mine.site or "", row.received_at)
        ours = [(number, at - mine.occurred_at) for device, number, at in counted if device == mine.device]
        return any(
            (number < mine.device_seq and ahead > tolerance) or (number > mine.device_seq and -ahead > tolerance)
            for number, ahead in ours
        )

    return [msgspec.structs.replace(row, suspect_order=suspect(row)) for row in rows]


def known(records: Iterable[Record], known_at: datetime | None) -> list[Record]:
    """Give the records that had been recorded by the moment."""
    return [record for record in records if known_at is None or record.recorded_at <= known_at]


def reported(reports: Sequence[Report], known_at: datetime | None) -> list[kin.Report]:
    """Give the reports received by the moment, settled where that was known by then."""
    return [
        kin.Report(
            uuid5(NAMESPACE_OID, f"report {number}"),
            report.tag,
            report.received_at,
            None if known_at is not None and report.settled_at and report.settled_at > known_at else report.settled_at,
        )
        for number, report in enumerate(reports)
        if known_at is None or report.received_at <= known_at
    ]


class Folding:
    """Everything folded as one kin, as known at a moment."""

    def __init__(self, records: list[Record], reports: Sequence[Report], known_at: datetime | None = None) -> None:
        holders = keys(records)
        rows = recorded(known(records, known_at))
        bare = world_of((row for row in rows if not isinstance(row.event, AssetEvent)), holders)
        self.rows = contradicted(rows, bare)
        self.world = world_of((row for row in self.rows if not isinstance(row.event, AssetEvent)), holders)
        self.reports = reported(reports, known_at)
        self.prepared = kin.prepare(self.rows, self.reports, self.world)

    def stories(self) -> dict[Unit, Story]:
        """Give every unit, folded."""
        return self._stories

    @cached_property
    def _stories(self) -> dict[Unit, Story]:
        """Fold every unit, once."""
        return {name_of(unit): told_of(unit, self.world) for unit in self.prepared.units}

    def views(self, as_at: datetime) -> dict[Unit, dict[str, Any]]:
        """Show every unit at the moment."""
        return {name_of(unit): self._view(unit, as_at) for unit in self.prepared.units if unit.start.at <= as_at}

    def _view(self, unit: kin.UnitFacts, as_at: datetime) -> dict[str, Any]:
        seen = shown(at_moment(unit.start, unit.facts, as_at, self.world))
        seen["parts"] = [{name: part[name] for name in PART} for part in seen["parts"]]
        plain: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(seen))
        return plain

    def conflicts(self) -> dict[str, list[str]]:
        """Give the conflict codes of every event, sorted."""
        found: dict[str, set[str]] = {str(row.event.id): set() for row in self.rows}
        stories = self.stories().values()
        for told in (*self.prepared.conflicts, *(one for story in stories for one in story.conflicts)):
            found[str(told.event)].add(told.conflict.code)
        taken_back = voidings(self.rows)
        for row in self.rows:
            if isinstance(row.event, Trained) and row.event.id not in taken_back:
                found[str(row.event.id)] |= {conflict.code for conflict in people.contradictions(row.event)}
        return {event: sorted(codes) for event, codes in found.items()}

    def uses(self, story: Story, until: datetime) -> list[tuple[datetime, str, datetime | None]]:
        """Give a unit's uses up to a moment: those folded, and those that time alone made since.

        As far as these were told as the unit was folded, they are given as they were.
        """
        left, coming = story.folded, story.coming
        uses = list(story.uses)
        if left.at < until and until > coming.until:
            uses += [use for _, _, counted in passing(left.unit, left.at, until, self.world) for use in counted]
        shown = (use for use in uses if use.counted and use.at < until)
        told = [(use.at, use.site, None if use.covered_before(until) else use.lapse) for use in shown]
        if until <= coming.until:
            said = ((at, None if nth < coming.covered else at) for nth, at in enumerate(coming.uses) if at < until)
            told += [(at, left.unit.site, lapse) for at, lapse in said]
        return told

    def findings(self, story: Story, until: datetime) -> list[Found]:
        """Give what is found of a unit before a moment, in the oracle's form; of uses also what time alone made.

        That is not looked at where all uses up to there were told to be sound.
        """
        uses = [(use, use.forbidden) for use in story.uses]
        left, coming = story.folded, story.coming
        if left.at < until and (until > coming.until or any(at < until for at in coming.uses[coming.sound :])):
            for _, _, counted in passing(left.unit, left.at, until, self.world):
                uses += [(use, against(standing_at(story, use.at))) for use in counted]
        found = [one for use, forbidden in uses for one in of_use(use, forbidden)]
        found += [of_finding(one) for one in story.findings]
        return sorted((one for one in found if one.at < until), key=str)


def standing_at(story: Story, moment: datetime) -> Interval:
    """Give how a unit stands at a moment."""
    return next(one for one in story.intervals if one.since <= moment < one.until)


def of_use(use: Use, forbidden: tuple[str, ...]) -> Iterator[Found]:
    """Give what is found of a use."""
    event = str(use.ref) if use.worn else None
    if use.lapse is not None:
        yield Found("used-without-check", use.lapse, use.site, use.person, event, ("used-without-check",))
    if forbidden:
        yield Found("used-while-not-to-be-used", use.at, use.site, use.person, event, tuple(sorted(forbidden)))


def of_finding(one: Finding) -> Found:
    """Give a finding without what its conflicts name besides."""
    reasons = tuple(sorted(word for word in one.reasons if word in CODES or word == one.report))
    return Found(one.report, one.at, one.site, one.person, str(one.event), reasons)


def name_of(unit: kin.UnitFacts) -> Unit:
    """Name a unit as the oracle does."""
    return (unit.start.unit.maker, normal(unit.start.unit.serial))


def views(
    records: list[Record], reports: Sequence[Report], as_at: datetime, known_at: datetime | None
) -> dict[str, dict[str, Any]]:
    """Show every unit by its tag at the moment, as known at another."""
    return {seen["tag"]: seen for seen in Folding(records, reports, known_at).views(as_at).values()}
