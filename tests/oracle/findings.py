"""What a manager must look at: uses without a check or against a warning, checks against their readings, conflicts.

39. A wearing is a finding even where the calendar counts uses, but never of a component or from before a registration.
    A use is found where it first lacks cover; what forbids it is what spoke before it, at its beginning.
40. What a sender says passed: a check or an examination without a failing point, and not of result `fail`.
41. A finding belongs to the site its event names, else to that of its unit before it; a use to its unit's. A voiding
    without effect that names no site belongs to the site of the unit's first registration.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from tests.oracle import wearing
from tests.oracle.asking import Ask
from tests.oracle.conflict import told
from tests.oracle.recall_rule import recalled
from tests.oracle.rules import RULES
from tests.oracle.story import Story
from tests.oracle.view import BREACH
from tests.oracle.withdrawal_rule import against

CHECK = "used-without-check"


class Found(NamedTuple):
    """One finding: its report, its moment, site and person, its event (a use by the calendar has none), and why."""

    report: str
    at: datetime
    site: str
    person: str | None
    event: str | None
    reasons: tuple[str, ...]


def findings(story: Story, until: datetime) -> list[Found]:
    """List what is found of a unit before an instant."""
    found = [*of_wearings(story), *of_days(story, until), *of_readings(story), *of_conflicts(story)]
    return sorted((one for one in found if one.at < until), key=str)


def of_wearings(story: Story) -> Iterator[Found]:
    """Find wearings that lacked cover, and those of a unit that was not to be used."""
    for index, fact in enumerate(story.facts):
        if fact.kind != "worn" or index < story.registrations[0] or story.component(index + 1):
            continue
        who, site, event = fact.get("wearer"), story.site(index + 1), fact.record.id
        lapses = () if story.dead(index) else wearing.worn_lapses(story, index, who)
        if lapses:
            yield Found(CHECK, min(lapses), site, who, event, (CHECK,))
        reasons = forbidding(Ask(story, index, fact.at, before=True))
        if reasons:
            yield Found("used-while-not-to-be-used", fact.at, site, who, event, reasons)


def of_days(story: Story, until: datetime) -> Iterator[Found]:
    """Find uses counted by the calendar that lacked cover, and those of a unit that was not to be used."""
    for use in wearing.day_uses(story, until):
        if use.lapses:
            yield Found(CHECK, use.at, use.site, use.who, None, (CHECK,))
        reasons = forbidding(Ask(story, use.n, use.at))
        if reasons:
            yield Found("used-while-not-to-be-used", use.at, use.site, use.who, None, reasons)


def forbidding(ask: Ask) -> tuple[str, ...]:
    """Name what speaks against the use of a unit, but for the want of a check."""
    if not ask.story.in_scope(ask.n, ask.at):
        return tuple(sorted(against(ask) | recalled(ask)))
    answers = [rule(ask) for rule in RULES.values()]
    reasons = {reason for answer in answers if answer.standing in BREACH for reason in answer.reasons}
    return tuple(sorted(reasons - {CHECK}))


def of_readings(story: Story) -> Iterator[Found]:
    """Find checks and examinations said to have passed that failed by their readings."""
    for index, fact in enumerate(story.facts):
        said_to_pass = fact.kind in {"checked", "examined"} and fact.get("result") != "fail"
        points = (fact.get("points") or {}).values()
        if said_to_pass and "fail" not in points and not fact.echo and not story.dead(index) and story.failing(index):
            where, reasons = site_of(story, index), ("passed-against-readings",)
            yield Found("passed-against-readings", fact.at, where, fact.record.by, fact.record.id, reasons)


def of_conflicts(story: Story) -> Iterator[Found]:
    """Find events that contradict the history, each with all its codes."""
    for index, fact in enumerate(story.facts):
        codes = set() if fact.echo else told(story, index)
        if codes:
            where, by, event = site_of(story, index), fact.record.by, fact.record.id
            yield Found("conflicting-history", fact.at, where, by, event, tuple(sorted(codes)))


def site_of(story: Story, index: int) -> str:
    """Name the site an event speaks of."""
    return str(story.facts[index].get("site") or story.site(index))
