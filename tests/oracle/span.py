"""The standing of a unit over time: probed at every instant at which anything could change."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import date, datetime, timedelta

from tests.oracle import clock, wearing
from tests.oracle.part_rules import hours_crossings, last_days
from tests.oracle.recall_rule import turns
from tests.oracle.record import Record, Report
from tests.oracle.reference import DUTY
from tests.oracle.story import Story
from tests.oracle.view import Standing, standing
from tests.oracle.world import World

Interval = tuple[datetime, datetime, str, bool, str, bool]


def day_ends(story: Story) -> Iterator[date]:
    """List every day to whose end something may hold."""
    intervals = {*DUTY.values(), *story.world.book.periods("interval")}
    for index, fact in enumerate(story.facts):
        if story.valid_examination(index) or fact.kind in {"issued", "stationed"}:
            yield from (clock.later_day(fact.local_day, interval) for interval in intervals)
    yield from last_days(story)


def turning_points(story: Story, until: datetime) -> set[datetime]:
    """List every instant until another at which the standing of a unit might change."""
    world = story.world
    found = set(story.instants) | world.book.changes() | {fact.record.received_at for fact in story.facts}
    soon = {"P7D", *world.book.periods("due_soon")}
    for day in day_ends(story):
        for zone in world.book.zones():
            found |= {clock.day_end(day, zone), *(clock.before_day_end(day, period, zone) for period in soon)}
    for use in wearing.uses(story, until):
        found |= {use.at, *use.lapses}
    for report in world.reports:
        found |= {report.received_at, report.settled_at or report.received_at}
    if any(other.component(n) for other in world.stories.values() for n in other.registrations_known()):
        found |= {at for other in world.stories.values() for at in other.instants}
        found |= {other.facts[index].versions_at for other in world.stories.values() for index in other.swaps}
    return found | set(turns(story)) | hours_crossings(story)


def pieces(story: Story, since: datetime, until: datetime) -> Iterator[tuple[datetime, datetime, Standing]]:
    """Give the standing between each turning point and the next, from registration on."""
    start = max(since, story.registered_at())
    if start >= until:
        return
    wearing.uses(story, until)
    cuts = [start, *sorted(at for at in turning_points(story, until) if start < at < until), until]
    for left, right in itertools.pairwise(cuts):
        yield left, right, standing(story, left)


def told(found: Standing) -> tuple[str, bool, str, bool]:
    """Give what an interval shows."""
    return (found.standing, found.do_not_use, found.phase, found.in_scope)


def intervals(
    records: list[Record],
    reports: list[Report],
    tag: str,
    since: datetime,
    until: datetime,
    known_at: datetime | None = None,
) -> list[Interval]:
    """Give (since, until, standing, do_not_use, phase, in_scope) of the unit a tag means at `until`, merged."""
    world = World(records, reports, known_at)
    unit = world.identity.owner(tag, (until, False))
    return [] if unit is None else story_intervals(world.stories[unit], since, until)


def story_intervals(story: Story, since: datetime, until: datetime) -> list[Interval]:
    """Merge the pieces of a story that show the same."""
    found: list[Interval] = []
    for left, right, one in pieces(story, since, until):
        if found and found[-1][1] == left and found[-1][2:] == told(one):
            found[-1] = (found[-1][0], right, *told(one))
        else:
            found.append((left, right, *told(one)))
    return found


def days_of(since: datetime, until: datetime, zone: str) -> list[date]:
    """List the local days of a period, that of its last instant included."""
    first, last = clock.local_day(since, zone), clock.local_day(until, zone)
    return [first + timedelta(days=count) for count in range((last - first).days + 1)]
