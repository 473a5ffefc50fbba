"""The rule about recalls: what those ask that bear on a unit."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from tests.oracle import clock
from tests.oracle.asking import DO_NOT_USE, DUE_SOON, IN_DATE, OUT, OVERDUE, Answer, Ask, worst
from tests.oracle.recalls import Opening, bears
from tests.oracle.story import Story

SOON = "P7D"


def recall(ask: Ask) -> Answer:
    """Take the worst of what the recalls ask that bear on a unit; without any there is nothing to judge."""
    asked = [now_asked(ask, opening) for opening in ask.story.world.openings if opening.at <= ask.at]
    found = [one for one in asked if one is not None]
    return worst([one if one[0] in {OVERDUE, DO_NOT_USE} else (one[0], "") for one in found]) if found else Answer(OUT)


def now_asked(ask: Ask, opening: Opening) -> tuple[str, str] | None:
    """Say what an opening asks of a unit now, None where it does not bear on it."""
    if not bears(ask.story, ask.n, ask.at, opening):
        return None
    action, due_on = opening.fact.get("action"), opening.fact.get("due_on")
    if action == "stop-use":
        return (DO_NOT_USE, "recall")
    if action == "information":
        return (IN_DATE, "")
    if due_on is None:
        return (OVERDUE, "recall")
    day = date.fromisoformat(due_on)
    zone = ask.story.due_zone(ask.n, day)
    if ask.at >= clock.day_end(day, zone):
        return (OVERDUE, "recall")
    return (DUE_SOON if ask.at >= clock.before_day_end(day, SOON, zone) else IN_DATE, "")


def recalled(ask: Ask) -> set[str]:
    """Say whether a recall forbids a unit whatever its scope: by a stop-use; of a component, by whatever is owed."""
    barring = {DO_NOT_USE, OVERDUE} if ask.story.component(ask.n) else {DO_NOT_USE}
    return {"recall"} if recall(ask).standing in barring else set()


def turns(story: Story) -> Iterator[datetime]:
    """Give every instant at which a recall may ask something else."""
    for opening in story.world.openings:
        yield opening.at
        if opening.fact.get("due_on") is not None:
            day = date.fromisoformat(opening.fact.get("due_on"))
            for zone in story.world.book.zones():
                yield clock.day_end(day, zone)
                yield clock.before_day_end(day, SOON, zone)
