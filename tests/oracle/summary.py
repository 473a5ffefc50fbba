"""The compliance of all sites: the moment's rate, the period's unit-days, and uses covered of uses."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, time
from typing import Any

from tests.oracle import clock, wearing
from tests.oracle.asking import DO_NOT_USE, DUE_SOON, IN_DATE, OUT, OVERDUE
from tests.oracle.record import Record, Report
from tests.oracle.rules import RULES
from tests.oracle.span import days_of, pieces
from tests.oracle.story import Story
from tests.oracle.view import Standing, standing
from tests.oracle.world import World

STANDINGS = (IN_DATE, DUE_SOON, OVERDUE, DO_NOT_USE, OUT)
PHASES = ("in-store", "issued", "stationed", "quarantined", "in-transit", "at-service", "missing")
COMPLIANT = frozenset({IN_DATE, DUE_SOON})
SHOWN = (DUE_SOON, OVERDUE, DO_NOT_USE)


@dataclass
class Tally:
    """Counts of one site, or of all."""

    units: int = 0
    in_scope: int = 0
    compliant: int = 0
    standings: Counter[str] = field(default_factory=Counter)
    phases: Counter[str] = field(default_factory=Counter)
    rules: Counter[tuple[str, str]] = field(default_factory=Counter)
    uses: Counter[str] = field(default_factory=Counter)
    unit_days: Counter[str] = field(default_factory=Counter)

    def add(self, one: Standing) -> None:
        """Count a unit."""
        self.units += 1
        self.in_scope += one.in_scope
        self.compliant += one.in_scope and one.standing in COMPLIANT
        self.standings[one.standing] += 1
        self.phases[one.phase] += 1
        for name, answer in one.rules.items():
            self.rules[name, answer.standing] += 1

    def merge(self, other: Tally) -> None:
        """Add the counts of another."""
        self.units += other.units
        self.in_scope += other.in_scope
        self.compliant += other.compliant
        for name in ("standings", "phases", "rules", "uses", "unit_days"):
            getattr(self, name).update(getattr(other, name))

    def shown(self) -> dict[str, Any]:
        """Show the counts; rates are cut to four decimals and null over nothing."""
        return {
            "units": self.units,
            "in_scope": self.in_scope,
            "compliant": self.compliant,
            "rate": self.compliant * 10_000 // self.in_scope / 10_000 if self.in_scope else None,
            "by_standing": {name: self.standings[name] for name in STANDINGS},
            "by_phase": {name: self.phases[name] for name in PHASES},
            "uses": {"covered": self.uses["covered"], "of": self.uses["of"]},
            "unit_days": {"compliant": self.unit_days["compliant"], "of": self.unit_days["of"]},
            "by_rule": {
                rule: {name: self.rules[rule, name] for name in SHOWN if self.rules[rule, name]} for rule in RULES
            },
        }


def month_start(zone: str, at: datetime) -> datetime:
    """Give the start of the local month of an instant."""
    return clock.local(clock.local_day(at, zone).replace(day=1), time(), zone)


def add_uses(tally: Tally, story: Story, site: str, since: datetime, until: datetime) -> None:
    """Count the uses of a unit at a site in a period, its ends included."""
    for use in wearing.uses(story, until):
        if use.counted and use.site == site and since <= use.at <= until:
            tally.uses["of"] += 1
            tally.uses["covered"] += use.breach is None or use.breach > until


def add_days(tally: Tally, story: Story, site: str, since: datetime, until: datetime, zone: str) -> None:
    """Count the local days on which a unit was in scope at a site, and those on which it was compliant throughout."""
    last = standing(story, until)
    told = [*pieces(story, since, until), (until, None, last)] if until >= story.registered_at() else []
    here = [(left, right, one) for left, right, one in told if one.in_scope and story.site(story.upto(left)) == site]
    for day in days_of(since, until, zone):
        start, end = clock.day_start(day, zone), clock.day_end(day, zone)
        that_day = [
            one for left, right, one in here if left < end and (left >= start or (right is not None and right > start))
        ]
        if that_day:
            tally.unit_days["of"] += 1
            tally.unit_days["compliant"] += all(one.standing in COMPLIANT for one in that_day)


def site_tally(world: World, site: str, at: datetime) -> Tally:
    """Count everything of one site."""
    tally = Tally()
    zone = world.book.zone_at(site, at)
    since = month_start(zone, at)
    for story in world.stories.values():
        n = story.upto(at)
        if at < story.registered_at() or story.component(n):
            continue
        if story.site(n) == site and story.phase(n) != "retired":
            tally.add(standing(story, at))
        add_uses(tally, story, site, since, at)
        add_days(tally, story, site, since, at, zone)
    return tally


def summary(
    records: list[Record],
    reports: list[Report],
    as_at: datetime,
    known_at: datetime | None = None,
) -> dict[str, Any]:
    """Give the compliance of all sites at `as_at`, from what was known at `known_at` (None: everything)."""
    world = World(records, reports, known_at)
    total, sites = Tally(), []
    for site in world.book.sites():
        defined = world.book.thing("site", site, as_at) or {}
        tally = site_tally(world, site, as_at)
        total.merge(tally)
        named = {
            "site": site,
            "name": defined["name"],
            "profile": defined["profile"],
            "time_zone": defined["time_zone"],
        }
        sites.append({**named, **tally.shown()})
    return {
        "as_at": clock.iso(as_at),
        "known_at": clock.iso(known_at),
        "judged_to": max((record.seq for record in world.known), default=0),
        "projection": known_at is not None and as_at > known_at,
        "total": total.shown(),
        "sites": sites,
    }


def uses(
    records: list[Record],
    reports: list[Report],
    since: datetime,
    until: datetime,
    site: str | None = None,
    known_at: datetime | None = None,
) -> dict[str, int]:
    """Count the uses covered, and all uses, of a site (None: of all) from `since` to `until`, both included."""
    world = World(records, reports, known_at)
    tally = Tally()
    for story in world.stories.values():
        for name in world.book.sites() if site is None else [site]:
            add_uses(tally, story, name, since, until)
    return {"covered": tally.uses["covered"], "of": tally.uses["of"]}
