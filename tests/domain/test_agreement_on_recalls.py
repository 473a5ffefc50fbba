"""What recalls speak of and whom they reach, against the oracle on random histories; nothing is stored.

TEST_RECALLS is how many histories (40 where it is not set), TEST_RECALLS_FROM the first seed.
"""

import os
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from typing import Any, NamedTuple
from uuid import UUID

import msgspec
import pytest

from service.domain.facts import Fact
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import normal
from service.domain.recall.bearing import reached
from service.domain.recall.campaign import campaigns
from service.domain.recall.impact import Touched
from service.domain.recall.matching import names_days
from service.domain.recall.opening import Back, Opening
from service.domain.recall.people import exposed
from service.domain.recall.traces import bare, listed, matched, traces
from service.domain.unit import Unit
from tests.domain.folding import Folding
from tests.domain.lives import Lives
from tests.oracle import impact as oracle
from tests.oracle.ahead import sittings
from tests.oracle.criteria import Words, random_criteria
from tests.oracle.fact import fact
from tests.oracle.histories import random_history
from tests.oracle.recalls import Opening as Opened
from tests.oracle.record import Message, Record
from tests.oracle.world import World

pytestmark = pytest.mark.no_cover
"""Thousands of cases go the same ways again and again: counting each line of them is most of their time."""

FIRST = int(os.environ.get("TEST_RECALLS_FROM", "0"))
SEEDS = range(FIRST, FIRST + int(os.environ.get("TEST_RECALLS", "40")))
ASKED = 12
"""How many recalls are made up at each moment."""

Name = tuple[str, str, str]
"""The tag of a unit, its maker and its serial number: two that lost one tag may be of one serial number."""
Holder = list[tuple[str, str]]


class Told(NamedTuple):
    """What is said of a unit: what sat there, each since when at the earliest, who had it, and who wore it where."""

    sat: set[tuple[oracle.Sitting, datetime]]
    held: list[oracle.Held]
    worn: dict[oracle.Worn, tuple[int, datetime, datetime, int, set[str], bool]]


class Share(NamedTuple):
    """What one unit adds to whoever had or wore it."""

    unit: int
    certain: bool
    held: int
    times: int
    worn: int
    first: datetime
    last: datetime


class Scene:
    """A history as known at a moment, and its units at another: as they are folded, and as the oracle sees them."""

    def __init__(self, records: list[Record], known_at: datetime | None, at: datetime) -> None:
        self.at = at
        self.world, self.folding = World(records, [], known_at), Folding(records, [], known_at)
        self.lives, self.seen = Lives(self.folding, at), oracle.seen(self.world, at)
        self.listed = listed(self.folding.world.rulebook)
        self.tags = {
            one.start.unit.unit: {
                one.start.unit.tag,
                *(fact.event.asset for fact in one.facts if isinstance(fact, Fact)),
            }
            for one in self.folding.prepared.units
        }

    def compare(self, ours: Sequence[Opening], theirs: list[Opened]) -> int:
        """Hold what the openings of a recall speak of against what is true, and count the units."""
        found, true = list(self.lives.touched(ours)), self._true(theirs)
        named = {(unit.tag, unit.maker, normal(unit.serial)): shown(told) for unit, told in found}
        assert named == true
        people = exposed((told for _, told in found), self.at)
        told = {str(told_holder(one.holder)): msgspec.structs.astuple(one)[1:] for one in people}
        assert told == summed(true.values(), self.at)
        criteria = [criterion for opening in ours for criterion in opening.criteria]
        assert [unit.tag for unit, _ in found if not self._left_a_trace(unit, criteria)] == []
        return len(found)

    def _left_a_trace(self, unit: Unit, criteria: Sequence[Criterion]) -> bool:
        """Say whether a unit is among those that are looked at where criteria may speak of any, or of it apart."""
        tags = self.tags[unit.unit]
        said = (trace for row in self.folding.rows if getattr(row.event, "asset", None) in tags
                for trace in traces(row.event))  # fmt: skip
        apart = unit.several or unit.beginning < unit.registered_at
        looked_at = bool(bare(criteria, self.listed)) or any(map(names_days, criteria))
        return (apart and looked_at) or any(matched(criteria, one, self.listed) for one in said)

    def _true(self, openings: list[Opened]) -> dict[Name, Told]:
        found: dict[Name, Told] = {}
        for unit in self.seen:
            sat = sittings(unit, openings, self.at)
            if sat:
                held, worn = oracle.held(unit, sat, self.at), oracle.worn(unit, sat, self.at)
                found[unit.tag, *unit.story.unit] = Told({(one.shown, one.first) for one in sat}, held, worn)
        return found

    def borne_on(self, openings: Sequence[Opening]) -> set[str]:
        """Name the units that openings bear on, as campaigns look for them."""
        coming = [(life, one.unit, one.listing) for life in self.lives.every for one in life.ahead]
        found = [*((life, life.unit, life.listing) for life in self.lives.every), *coming]
        return {
            life.unit.tag
            for life, unit, listing in found
            if any(True for one in openings for _ in reached(unit, listing, one))
        }

    def known(self) -> Iterator[tuple[Sequence[Opening], list[Opened]]]:
        """Give the recalls that the log opened in earnest, in both forms."""
        for name, campaign in campaigns(self.folding.rows, self.folding.world, self.at).items():
            if not campaign.rehearsal:
                yield (
                    campaign.openings,
                    [one for one in self.world.openings if one.recall == name and one.at <= self.at],
                )

    def supposed(self, random: Random, words: Words, names: list[str]) -> tuple[list[Opening], list[Opened]]:
        """Make up a recall that was opened by then, and sometimes taken back; one in four was opened twice."""
        recall = random.choice(names)
        every = [self._opening(random, words, recall) for _ in range(random.choice([1, 1, 1, 2]))]
        return [ours for ours, _ in every], [theirs for _, theirs in every]

    def _opening(self, random: Random, words: Words, recall: str) -> tuple[Opening, Opened]:
        at = self.at - timedelta(days=random.choice([0, 0, 1, 10, 40]))
        ends = at + (self.at - at) * random.random() if random.random() < 0.1 else None
        criteria = random_criteria(random, words)
        backs = () if ends is None else (Back(UUID(int=8), "m-9", ends),)
        given = tuple(msgspec.convert(one, Criterion) for one in criteria)
        ours = Opening(recall, (at, True, 0, "", 0, b"", False), UUID(int=9), "m-1", "stop-use", given, backs=backs)
        message: Message = {"id": str(UUID(int=9)), "kind": "recall-opened", "occurred_at": at.isoformat(), "by": "m-1"}
        message |= {"recall": recall, "criteria": criteria}
        return ours, Opened(fact(Record(message, 0, at, at), self.world.book), (), ends)


def shown(told: Touched) -> Told:
    """Show what a recall speaks of in a unit in the oracle's form."""
    sat: set[tuple[oracle.Sitting, datetime]] = {
        ((one.position or "", one.since, one.until, one.certain, one.state, one.item, one.lot), meant.earliest)
        for meant, one in zip(told.meant, told.sittings, strict=True)
    }
    held = [
        (str(told_holder(one.holder)), one.site, one.since, one.until, one.seconds, one.certain) for one in told.hands
    ]
    worn = {
        (one.person, one.site): (one.times, one.first, one.last, one.seconds, {*map(str, one.known_by)}, one.certain)
        for one in told.wearers
    }
    return Told(sat, sorted(held, key=str), worn)


def told_holder(value: Any) -> Holder:
    """Show a holder as it was posted."""
    return sorted(msgspec.to_builtins(value).items())


def summed(units: Iterable[Told], at: datetime) -> dict[str, tuple[Any, ...]]:
    """Add up who had or wore units: if certain, how many, seconds in hand, times worn, seconds worn, when to when."""
    shares: defaultdict[str, list[Share]] = defaultdict(list)
    for nth, unit in enumerate(units):
        for who, _, since, until, seconds, certain in unit.held:
            shares[who].append(Share(nth, certain, seconds, 0, 0, since, until or at))
        for (person, _), (times, first, last, seconds, _, certain) in unit.worn.items():
            shares[str([("person", person)])].append(Share(nth, certain, 0, times, seconds, first, last))
    return {
        who: (
            any(one.certain for one in mine),
            len({one.unit for one in mine}),
            sum(one.held for one in mine),
            sum(one.times for one in mine),
            sum(one.worn for one in mine),
            min(one.first for one in mine),
            max(one.last for one in mine),
        )
        for who, mine in shares.items()
    }


def moments(records: list[Record], random: Random) -> Iterator[tuple[datetime | None, datetime]]:
    """Give moments to know at and to ask about: in the end, days before, and as it was known half way."""
    last, half = max(one.received_at for one in records), records[len(records) // 2].recorded_at
    yield None, last
    yield None, random.choice(records).received_at
    yield half, last - timedelta(days=5)


PARTS = frozenset({"filter-replaced", "part-replaced", "part-identified", "repaired", "recall-actioned"})
"""What tells what sits in a unit, or lets it go."""
HANDS = frozenset({"issued", "stationed", "returned", "checked", "worn", "failed-check", "failed-in-use"})
"""What tells who has it, and who wears it."""


def by_day(record: Record, day: str) -> Record:
    """Let a message state a day alone."""
    message = {name: value for name, value in record.message.items() if name != "occurred_at"}
    return replace(record, message=message | {"occurred_on": day})


def days_alone(records: list[Record], random: Random) -> list[Record]:
    """Let most of what tells of parts, hands and models again state its day alone, some of it the day of another."""
    before: dict[str, str] = {}
    found: list[Record] = []
    for one in records:
        again = one.kind == "registered" and any(one.message["serial"] in str(other.message) for other in found)
        told = again or one.kind in PARTS | HANDS
        chosen = told and "until" not in one.message and random.random() < 0.7
        if chosen and "occurred_at" in one.message:
            unit, day = one.message["asset"], one.message["occurred_at"][:10]
            before[unit] = before.get(unit, day) if random.random() < 0.3 else day
            found.append(by_day(one, before[unit]))
        else:
            found.append(one)
    return found


def noons(records: list[Record], random: Random) -> Iterator[datetime]:
    """Give moments of some of the days that are stated alone of what sits in units."""
    told = {one.message["occurred_on"] for one in records if one.kind in PARTS and "occurred_on" in one.message}
    for day in random.sample(sorted(told), min(len(told), 8)):
        yield datetime.fromisoformat(f"{day}T00:00:00+00:00") + timedelta(minutes=random.randrange(24 * 60))


@pytest.mark.parametrize("first", SEEDS[::40])
def test_recalls_reach_what_is_said_of_days_that_are_not_over(first: int) -> None:
    """Within days that are stated alone, recalls speak of what the oracle says; some of it by such days only.

    Asked once all units are registered: where a component sits that is in none yet is another matter.
    """
    ahead = 0
    for seed in range(first, first + 40):
        random = Random(seed)  # noqa: S311 - guards nothing
        records = days_alone(random_history(seed, 30 + 4 * (seed % 24)).records, random)
        words = Words(records)
        for at in noons(records, random):
            scene = Scene(records, None, at)
            supposed = (scene.supposed(random, words, ["rc-none"]) for _ in range(ASKED))
            every = [*scene.known(), *supposed] if len(scene.seen) == len(scene.world.stories) else []
            for ours, theirs in every:
                scene.compare(ours, theirs)
                assert {unit.tag for unit, told in scene.lives.touched(ours) if told.affected} == scene.borne_on(ours)
                ahead += sum(told.ahead for _, told in scene.lives.touched(ours))
    assert ahead > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_recalls_speak_of_what_the_oracle_says(seed: int) -> None:
    """At any moment, as known at any other: the same sittings, hands and wearers, and the same people over all.

    Each unit that is spoken of left a trace by which it is found.
    """
    random = Random(seed)  # noqa: S311 - guards nothing
    records = random_history(seed, 30 + 4 * (seed % 24)).records
    words = Words(records)
    names = sorted({one.message["recall"] for one in records if one.message.get("recall")} | {"rc-none"})
    found = 0
    for known_at, at in moments(records, random):
        scene = Scene(records, known_at, at)
        every = [*scene.known(), *(scene.supposed(random, words, names) for _ in range(ASKED))]
        found += sum(scene.compare(ours, theirs) for ours, theirs in every)
    assert found > 0
