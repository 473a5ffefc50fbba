"""Everything as known at a moment: which records stand, whose they are, and who may do what."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from tests.oracle import clock, verdict
from tests.oracle.fact import IDENTITY, PERSON, Fact, day_of, echo, fact, rough
from tests.oracle.identity import Identity, Unit
from tests.oracle.people import People
from tests.oracle.recalls import openings
from tests.oracle.record import Record, Report
from tests.oracle.reference import KINDS as REFERENCE
from tests.oracle.reference import Book
from tests.oracle.story import Story

CARRIES_SITE = frozenset({"received", "issued", "stationed", "returned", "found"})
LATE = timedelta(hours=1)


class World:
    """The log as known at a moment (None: all of it)."""

    def __init__(self, records: list[Record], reports: list[Report], known_at: datetime | None) -> None:
        self.known = [record for record in records if known_at is None or record.recorded_at <= known_at]
        self.reports = [report for report in reports if known_at is None or report.received_at <= known_at]
        self.known_at = known_at
        self.voidings = effective_voidings(self.known)
        reference = [record for record in self.known if record.kind in REFERENCE]
        self.book = Book(
            (record for record in reference if not self.voided(record)),
            (record for record in reference if self.voided(record)),
        )
        self.people = People(self)
        self.openings = openings(self)
        self.identity = Identity(self.identity_facts(), self.book)
        self.own_voidings: set[str] = set()
        self.said = self.sites_said()
        self.stories = self.tell()

    def voided(self, record: Record) -> bool:
        """Say whether a standing voiding names a record."""
        return record.id in self.voidings

    def identity_facts(self) -> list[Fact]:
        """Place the registrations and retaggings that stand."""
        standing = [record for record in self.known if record.kind in IDENTITY and not self.voided(record)]
        home = {
            record.message["asset"]: record.message["site"]
            for record in sorted(
                standing, key=lambda record: (rough(record), *fact(record, self.book).key[3:]), reverse=True
            )
            if record.kind == "registered"
        }
        return [fact(record, self.book, home.get(record.message["asset"])) for record in standing]

    def sites_said(self) -> dict[Unit, list[tuple[Any, str]]]:
        """Gather, by unit and in order, what events with a site of their own say of where it belongs."""
        said: dict[Unit, list[tuple[Any, str]]] = {unit: [] for unit in self.identity.units()}
        for unit in said:
            said[unit] = [(one.key, str(one.get("site"))) for one in self.identity.registrations(unit)]
        for record in self.known:
            if record.kind in CARRIES_SITE and record.message.get("site") and not self.voided(record):
                placed = fact(record, self.book)
                owner = self.identity.owner(record.message["asset"], placed.key)
                if owner is not None:
                    said[owner].append((placed.key, record.message["site"]))
        return {unit: sorted(found) for unit, found in said.items()}

    def site_then(self, unit: Unit, at: datetime) -> str | None:
        """Name the site of a unit at an instant, by the events that carry a site of their own."""
        said = self.said[unit]
        until = [site for key, site in said if key[0] <= at]
        return (until or [said[0][1]])[-1]

    def posted_at(self, record: Record) -> datetime:
        """Give the instant of an event that is about no asset."""
        return fact(record, self.book).at

    def place(self, record: Record) -> tuple[Unit | None, Fact]:
        """Put an event about an asset at its place, and say whose it is."""
        tag, site = record.message["asset"], record.message.get("site")
        if site is None:
            guess = self.identity.owner(tag, (rough(record), True))
            site = self.site_then(guess, rough(record)) if guess else None
        placed = fact(record, self.book, site)
        return self.identity.owner(tag, placed.key), placed

    def tell(self) -> dict[Unit, Story]:
        """Gather the facts of each unit and tell its story."""
        facts: dict[Unit, list[Fact]] = {unit: [] for unit in self.identity.units()}
        for claim in self.identity.claims:
            facts[claim.unit].append(claim.fact)
        for record in self.known:
            if "asset" in record.message and record.kind not in IDENTITY | PERSON:
                unit, placed = self.place(record)
                standing = self.standing(unit, placed) if unit else None
                if unit and standing:
                    facts[unit].append(standing)
        return {unit: Story(self, unit, self.with_echoes(unit, found)) for unit, found in facts.items()}

    def standing(self, unit: Unit, placed: Fact) -> Fact | None:
        """Take a voided event out, unless it is bad news: that stays and only learns who voided it."""
        voidings = self.voidings.get(placed.record.id, ())
        if not voidings:
            return placed
        if not placed.adverse and not self.fails(unit, placed):
            return None
        others = tuple(voiding for voiding in voidings if not own(voiding, placed.record))
        self.own_voidings |= {voiding.id for voiding in voidings if own(voiding, placed.record)}
        return replace(placed, voidings=others)

    def fails(self, unit: Unit, placed: Fact) -> bool:
        """Say whether a check or an examination fails, if only by its readings."""
        if placed.kind not in verdict.JUDGED:
            return False
        until = [one for one in self.identity.registrations(unit) if one.key <= placed.key]
        registration = (until or self.identity.registrations(unit))[-1 if until else 0]
        model = self.book.thing("model", registration.get("model"), placed.versions_at)
        return verdict.judge(placed, model, self.book).failing

    def with_echoes(self, unit: Unit, facts: list[Fact]) -> list[Fact]:
        """Repeat suspect bad news at its receipt, and put all in order."""
        start = min(fact.at for fact in self.identity.registrations(unit))
        suspects = [one for one in facts if one.adverse and self.suspect(one, facts, start)]
        echoes = [echo(one) for one in suspects if one.record.received_at != one.at]
        return sorted(facts + echoes, key=lambda one: (one.key, one.echo))

    def suspect(self, one: Fact, facts: list[Fact], start: datetime | None) -> bool:
        """Say whether the moment of a fact is suspect, or impossible: told of before it came."""
        return (
            self.offset_too_large(one)
            or (start is not None and before(one, start))
            or self.out_of_sequence(one)
            or one.at > one.record.received_at
            or late_without_clock(one, facts)
        )

    def tolerance(self, record: Record) -> timedelta:
        """Give how far a device's clock may be off."""
        site = record.message.get("site")
        return clock.elapsed(self.book.setting("clock", "tolerance", record.received_at, site, None))

    def offset_too_large(self, one: Fact) -> bool:
        """Say whether the sender's clock was off by more than the tolerance, in either direction."""
        record = one.record
        return record.sent_at is not None and abs(record.received_at - record.sent_at) > self.tolerance(record)

    def out_of_sequence(self, one: Fact) -> bool:
        """Say whether another event of the device contradicts its counter by more than the tolerance."""
        device, number = one.get("device"), one.get("device_seq")
        if device is None or number is None or one.day is not None:
            return False
        tolerance = self.tolerance(one.record)
        for record in self.known:
            other = record.message.get("device_seq")
            if record.message.get("device") != device or other is None or day_of(record) is not None:
                continue
            ahead = clock.instant(record.message["occurred_at"]) - one.at
            if (other < number and ahead > tolerance) or (other > number and -ahead > tolerance):
                return True
        return False


def before(one: Fact, start: datetime) -> bool:
    """Say whether a fact lies before a moment, a date-only one with its whole day."""
    ends = one.at if one.day is None else clock.day_end(one.day, one.zone)
    return ends < start if one.day is None else ends <= start


def late_without_clock(one: Fact, facts: list[Fact]) -> bool:
    """Say whether bad news without a stated clock came over an hour late, past good news of the same unit."""
    record = one.record
    if record.sent_at is not None or record.imported or record.received_at - one.at <= LATE:
        return False
    return any(not other.adverse and one.at < other.at <= record.received_at for other in facts)


def effective_voidings(known: list[Record]) -> dict[str, tuple[Record, ...]]:
    """Find the voidings that stand, newest first: one that is itself voided has no effect."""
    found: dict[str, tuple[Record, ...]] = {}
    for record in sorted(
        (record for record in known if record.kind == "voided"), key=lambda one: one.seq, reverse=True
    ):
        if record.id not in found:
            target = str(record.message["event"]).lower()
            found[target] = (*found.get(target, ()), record)
    return found


def own(voiding: Record, target: Record) -> bool:
    """Say whether a voiding comes from the author, or the key, of the event it names."""
    same_key = voiding.key == target.key and not voiding.imported and not target.imported
    return voiding.by == target.by or same_key
