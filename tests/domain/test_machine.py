"""A firm told step by step: after each of them fold and oracle agree on everything.

TEST_HISTORIES lengthens this run too: a fifth of it is how many firms are told of.
"""

import os
from collections.abc import Callable
from datetime import timedelta
from random import Random
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, invariant, multiple, precondition, rule

from tests.domain.comparing import differences
from tests.oracle import acts
from tests.oracle.histories import History, Plot, deliver, set_up
from tests.oracle.noise import noise
from tests.oracle.people_acts import person_act, reference_act
from tests.oracle.posting import Posted
from tests.oracle.recall_acts import let_go, recall_act, rule_out
from tests.oracle.record import Report

pytestmark = pytest.mark.no_cover
"""Thousands of cases go the same ways again and again: counting each line of them is most of their time."""

FIRMS = max(1, int(os.environ.get("TEST_HISTORIES", "40")) // 5)
SEEDS = st.integers(0, 2**16)
"""What a step leaves open is drawn from a seed, so that a history that fails shrinks by whole steps."""

MINUTES = st.sampled_from([0, 1, 30, 240, 720, 1440, 10_080])
MOST = 6
"""Tags that a firm comes to, so that most steps are about units it has."""

UNITS: Bundle[str] = Bundle("units")


def done(act: Callable[[Plot, str], None]) -> Callable[..., None]:
    """Make a step of something done to a unit: now, or told late of a moment that is past."""

    def step(self: "Firm", unit: str, seed: int, minutes: int, *, late: bool) -> None:
        self.tell(lambda plot: act(plot, unit), seed, minutes * (-1 if late else 1))

    step.__name__ = act.__name__
    return rule(unit=UNITS, seed=SEEDS, minutes=MINUTES, late=st.sampled_from([False, False, False, True]))(step)


def said(act: Callable[[Plot], None]) -> Callable[..., None]:
    """Make a step of something said of no unit."""

    def step(self: "Firm", seed: int) -> None:
        self.tell(act, seed)

    step.__name__ = act.__name__
    return rule(seed=SEEDS)(step)


class Firm(RuleBasedStateMachine):
    """A firm that posts one thing after another, and asks after each how all its units stand and stood."""

    units = UNITS

    @initialize(target=UNITS, seed=SEEDS)
    def begin(self, seed: int) -> Any:
        """Set up the firm, with two units and a battery that has a tag of its own."""
        self.plot = Plot(Random(seed))  # noqa: S311 -- guards nothing
        self.posted: list[Posted] = set_up(self.plot)
        self.reports: list[Report] = []
        self.tell(lambda plot: acts.register(plot, "U-1"), seed)
        self.tell(lambda plot: acts.register(plot, "U-2"), seed)
        self.tell(acts.component, seed)
        return multiple("U-1", "U-2", "B-1")

    def tell(self, act: Callable[[Plot], None], seed: int, minutes: int = 0) -> None:
        """Let something happen so many minutes from now, or before, and deliver what is posted of it."""
        plot, now, told = self.plot, self.plot.now, len(self.plot.posted)
        plot.random = Random(f"{seed} {told}")  # noqa: S311 -- guards nothing
        plot.now += timedelta(minutes=minutes)
        act(plot)
        plot.now = max(plot.now, now)
        self.posted += [deliver(plot, one) for one in plot.posted[told:]]

    @precondition(lambda self: len(self.plot.tags) < MOST)
    @rule(target=UNITS, seed=SEEDS)
    def register(self, seed: int) -> str:
        """Register another unit."""
        tag = f"U-{len(self.plot.posted) + 100}"
        self.tell(lambda plot: acts.register(plot, tag), seed)
        return tag

    @precondition(lambda self: len(self.plot.tags) < MOST)
    @rule(target=UNITS, unit=UNITS, seed=SEEDS)
    def rename(self, unit: str, seed: int) -> Any:
        """Give a unit a new tag, register its serial again, or use its tag again."""
        known = len(self.plot.tags)
        self.tell(lambda plot: acts.rename(plot, unit), seed)
        return multiple(*self.plot.tags[known:])

    issue, wear, check, examine = done(acts.issue), done(acts.wear), done(acts.check), done(acts.examine)
    clean, repair, change_part = done(acts.clean), done(acts.repair), done(acts.change_part)
    fail_in_use, quarantine, release = done(acts.fail_in_use), done(acts.quarantine), done(acts.release)
    settle, void, forgive, regret = done(acts.settle), done(acts.void), done(acts.forgive), done(acts.regret)
    move, lose, set_use, retire = done(acts.move), done(acts.lose), done(acts.set_use), done(acts.retire)
    good_day, give_back = done(acts.good_day), done(acts.simple("returned"))
    station = done(acts.simple("stationed", place="cab-1"))
    send_off = done(acts.simple("sent-to-service", provider="maker-1"))
    speak_of_people, change_rules, speak_of_else = said(person_act), said(reference_act), said(noise)
    recall, let_go, rule_out = said(recall_act), done(let_go), done(rule_out)

    @rule(seed=SEEDS)
    def repeat(self, seed: int) -> None:
        """Deliver something again, later than at first."""
        self.posted.append(self.posted[seed % len(self.posted)])

    @rule(unit=UNITS, hours=st.integers(0, 50), settled=st.booleans())
    def report(self, unit: str, hours: int, *, settled: bool) -> None:
        """Report a failure that cannot be accepted."""
        at = self.plot.now - timedelta(hours=hours)
        self.reports.append(Report(unit, at, at + timedelta(hours=3) if settled else None))

    @invariant()
    def agrees(self) -> None:
        """Show views, intervals, uses and conflicts as the oracle does, as known now and as at a moment before."""
        history = History(self.posted, self.reports)
        moment = Random(len(self.posted))  # noqa: S311 -- guards nothing
        assert differences(history, moment, moments=3) == []


TestFirm = Firm.TestCase
TestFirm.settings = settings(max_examples=FIRMS, stateful_step_count=20, deadline=None, derandomize=True)
