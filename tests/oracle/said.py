"""What was said of a unit by a moment: when last, when it was first had in hand, when withdrawn for a recall.

Readings 53 and 54 of the oracle say when that was.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tests.oracle.fact import Fact
from tests.oracle.lodging import lodgings
from tests.oracle.story import Story

Act = tuple[Fact, bool]
"""What was said, and whether it shows that somebody had the unit in hand."""


def last(story: Story, at: datetime) -> datetime | None:
    """Say when a unit was last spoken of."""
    return max((fact.versions_at for fact, _ in acts(story, at)), default=None)


def first_seen(story: Story, at: datetime, since: datetime) -> datetime | None:
    """Say when somebody first had it in hand from a moment on."""
    seen = [fact.versions_at for fact, sighted in acts(story, at) if sighted]
    return min((moment for moment in seen if moment >= since), default=None)


def stopped(story: Story, at: datetime, recall: str) -> list[datetime]:
    """Say when it was withdrawn for a recall."""
    orders = [fact for fact, _ in acts(story, at) if fact.kind == "quarantined" and fact.get("reason") == "recall"]
    return sorted(fact.versions_at for fact in orders if fact.get("recall") == recall)


def acts(story: Story, at: datetime, inside: tuple[Story, ...] = ()) -> Iterator[Act]:
    """Walk what was said of a unit, and of the unit that it sat in then for sure."""
    yield from own(story, at)
    every = lodgings(story, at)
    for nth, one in enumerate(every):
        ends = [one.until, *(after.day for after in every[nth + 1 : nth + 2])]
        for fact, sighted in acts(one.bearer, at, (*inside, story)) if one.bearer not in inside else ():
            if one.since <= fact.versions_at and all(end is None or fact.versions_at < end for end in ends):
                yield fact, sighted


def own(story: Story, at: datetime) -> Iterator[Act]:
    """Walk what was said of one unit."""
    for index, fact in enumerate(story.facts):
        if not fact.echo and fact.versions_at <= at:
            yield fact, story.seeing(index) and not story.world.voided(fact.record)
