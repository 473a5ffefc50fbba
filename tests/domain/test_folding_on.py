"""Folding on: a kin told on from what was kept equals one told from its beginning, byte for byte."""

from datetime import datetime, timedelta
from random import Random

import msgspec
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule
from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.facts import instant
from service.domain.fold import Story
from service.domain.intervals import Interval
from service.domain.kinds.registered import Registered
from service.domain.kinds.retagged import Retagged
from tests.domain.comparing import differences
from tests.domain.folding import Folding
from tests.domain.keeping import Kept
from tests.oracle import acts
from tests.oracle.firm import FIRM, check, examine, issue, part, register, tell, wear
from tests.oracle.histories import History, Plot, accepted, deliver, random_history, set_up
from tests.oracle.people_acts import person_act, reference_act
from tests.oracle.posting import log
from tests.oracle.record import Report

RANDOMS = st.randoms(use_true_random=False)


@pytest.mark.parametrize("seed", range(30))
def test_told_on_as_told_from_the_beginning(seed: int) -> None:
    """Whatever arrives, in whatever portions: state, intervals, uses and conflicts are as if all had come at once."""
    history, random = random_history(seed, 60), Random(seed)  # noqa: S311 -- guards nothing
    kept, records = Kept(), history.records
    while records:
        count = random.choice((1, 1, 1, 2, 5))
        kept.add(records[:count])
        records = records[count:]


def test_what_follows_is_told_on() -> None:
    """Messages that come in the order in which things happen are told on, each of them."""
    week = [
        one
        for day in range(2, 7)
        for one in (
            check(f"2026-03-0{day} 06:00"),
            issue(f"2026-03-0{day} 06:05"),
            wear(f"2026-03-0{day} 06:10", until=f"2026-03-0{day}T11:00:00+00:00"),
            tell("cleaned", f"2026-03-0{day} 10:00", scope="unit", method="wiped"),
            tell("returned", f"2026-03-0{day} 12:00"),
        )
    ]
    records = log([*FIRM, register(), examine("2026-02-27 10:00"), *week])
    kept = Kept()
    kept.add(records[: len(FIRM) + 1])
    for record in records[len(FIRM) + 1 :]:
        kept.add([record])
    assert kept.went_on == 1 + 5 * 5
    assert [(use.at.day, use.lapse and use.lapse.hour) for use in kept.rows[0].uses if not use.aside] == [
        (day, 10) for day in range(2, 7)
    ]


def test_what_comes_at_once_asks_for_nothing_that_is_still_ahead() -> None:
    """Worn at the moment it was registered, a unit is judged by nothing that only time would have brought."""
    filters = [{"position": "gas-filter", "part": part("abek-30")}]
    at = "2026-01-05 06:00"
    records = log([*FIRM, register(at, model="mask", size="m", parts=filters), wear(at)])
    kept = Kept()
    kept.add(records[:-1])
    kept.add(records[-1:])
    assert kept.went_on == 1


@pytest.mark.parametrize("seed", range(30))
def test_an_event_changes_nothing_before_it(seed: int) -> None:
    """An event changes nothing before its instant, or its receipt where that is earlier, but lapses of uses before."""
    history = random_history(seed, 50)
    for count in range(10, len(history.records), 7):
        before = Folding(history.records[:count], history.reports)
        after = Folding(history.records[: count + 1], history.reports)
        row = after.rows[-1]
        alike = [one.suspect_order for one in before.rows] == [one.suspect_order for one in after.rows[:-1]]
        if not isinstance(row.event, AssetEvent) or isinstance(row.event, Registered | Retagged) or not alike:
            continue
        since = min(row.received_at, instant(row.event, None, after.world) - timedelta(days=1))
        for unit, story in before.stories().items():
            assert intervals_until(after.stories()[unit], since) == intervals_until(story, since)
            told = min(since, story.folded.at)
            assert uses_until(after.stories()[unit], told) == uses_until(story, told)


def intervals_until(story: Story, moment: datetime) -> list[Interval]:
    """Give what a story tells of the time before a moment."""
    begun = (one for one in story.intervals if one.since < moment)
    return [msgspec.structs.replace(one, until=min(one.until, moment)) for one in begun]


def uses_until(story: Story, moment: datetime) -> list[tuple[datetime, str]]:
    """Give the uses before a moment."""
    return [(use.at, use.site) for use in story.uses if use.at < moment]


class Ledger(RuleBasedStateMachine):
    """A firm that posts, repeats, voids, and voids voidings; at any time all is as if told in any other order."""

    @initialize(random=RANDOMS)
    def begin(self, random: Random) -> None:
        """Set up the firm and register its first units."""
        self.plot = Plot(random)
        self.kept = Kept()
        self.told = 0
        for number in range(1, 3):
            acts.register(self.plot, f"U-{number}")
        acts.component(self.plot)
        self.posted = set_up(self.plot)
        self.deliver(random)

    def deliver(self, random: Random) -> None:
        """Deliver what was posted since, and fold it."""
        self.plot.random = random
        new = [deliver(self.plot, one) for one in self.plot.posted[self.told :]]
        self.told = len(self.plot.posted)
        before = len(self.kept.records)
        self.posted += new
        self.kept.add(accepted(self.posted)[before:])

    @rule(random=RANDOMS, minutes=st.sampled_from([0, 1, 30, 480, 1440]))
    def act(self, random: Random, minutes: int) -> None:
        """Do something to a unit."""
        self.plot.random = random
        self.plot.now += timedelta(minutes=minutes)
        acts.unit_act(self.plot)
        self.deliver(random)

    @rule(random=RANDOMS)
    def change_context(self, random: Random) -> None:
        """Change what is known of a person, or the firm's own rules."""
        self.plot.random = random
        random.choice((person_act, reference_act))(self.plot)
        self.deliver(random)

    @rule(random=RANDOMS)
    def void(self, random: Random) -> None:
        """Void something said of a unit, or a voiding."""
        self.plot.random = random
        acts.void(self.plot, self.plot.pick(*self.plot.tags))
        self.deliver(random)

    @precondition(lambda self: any(one.message["kind"] == "voided" for one in self.posted))
    @rule(random=RANDOMS)
    def void_a_voiding(self, random: Random) -> None:
        """Take back a voiding."""
        self.plot.random = random
        target = random.choice([one for one in self.posted if one.message["kind"] == "voided"])
        acts.post(self.plot, "voided", "m-2", event=target.message["id"], reason="it was right", key="desk")
        self.deliver(random)

    @rule(random=RANDOMS)
    def repeat(self, random: Random) -> None:
        """Post something again."""
        self.posted.append(random.choice(self.posted))
        assert accepted(self.posted) == self.kept.records

    @rule(random=RANDOMS, settled=st.booleans())
    def report(self, random: Random, *, settled: bool) -> None:
        """Report a failure that cannot be accepted."""
        at = self.plot.now - timedelta(hours=random.randrange(50))
        report = Report(random.choice(self.plot.tags), at, at + timedelta(hours=3) if settled else None)
        self.kept.add([], [report])

    @rule(random=RANDOMS)
    def permute(self, random: Random) -> None:
        """Let everything arrive in another order."""
        again = self.posted[:]
        random.shuffle(again)
        first = Folding(self.kept.records, self.kept.reports)
        assert Folding(accepted(again), self.kept.reports).stories() == first.stories()

    @override
    def teardown(self) -> None:
        """Agree with the oracle in the end."""
        if hasattr(self, "kept"):
            history = History(self.posted, self.kept.reports)
            assert differences(history, Random(7), moments=3) == []  # noqa: S311 -- guards nothing


TestLedger = Ledger.TestCase
TestLedger.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
