"""The rules about examination, checks and cleaning."""

from __future__ import annotations

from datetime import date

from tests.oracle import clock, wearing
from tests.oracle.asking import (
    DUE_SOON,
    IN_DATE,
    OUT,
    OVERDUE,
    Answer,
    Ask,
    worst,
)
from tests.oracle.story import Story


def anchor(story: Story, n: int) -> tuple[date | None, bool]:
    """Give the day from which the interval runs, and whether it is that of an examination."""
    for index in story.back(n):
        if story.valid_examination(index):
            return story.facts[index].local_day, True
    first = [index for index in story.back(n) if story.facts[index].kind in {"issued", "stationed"}]
    return (story.facts[first[-1]].local_day if first else None), False


def due_day(ask: Ask) -> date | None:
    """Give the day to whose end the last examination, or the first issue, holds."""
    story = ask.story
    interval = story.world.book.interval(ask.at, story.site(ask.n), story.model_ref(ask.n), ask.use)
    day, _ = anchor(story, ask.n)
    return clock.later_day(day, interval) if interval and day else None


def thorough_examination(ask: Ask) -> Answer:
    """Judge the interval of the thorough examination (COSHH 2002 reg 9(3); 29 CFR 1910.134(h)(3)(i)(B))."""
    story = ask.story
    interval = story.world.book.interval(ask.at, story.site(ask.n), story.model_ref(ask.n), ask.use)
    day, examined = anchor(story, ask.n)
    if interval is None:
        return Answer(OUT)
    if not examined and story.setting("acceptance", "examination", ask.n, ask.at):
        return Answer(OVERDUE, ("no-evidence",), (("due", None),))
    if day is None:
        return Answer(OUT)
    due = clock.later_day(day, interval)
    more = (("due", due.isoformat()),)
    zone = story.due_zone(ask.n, due)
    if ask.at >= clock.day_end(due, zone):
        return Answer(OVERDUE, ("thorough-examination" if examined else "no-evidence",), more)
    soon = story.setting("thorough-examination", "due_soon", ask.n, ask.at)
    return Answer(DUE_SOON if ask.at >= clock.before_day_end(due, soon, zone) else IN_DATE, (), more)


def pre_use_check(ask: Ask) -> Answer:
    """Judge uses against cover; without a counted use the unit is in date and told whether a check is needed."""
    story = ask.story
    found = []
    if not ask.on_issue and wearing.open_breach(story, ask.n, ask.at):
        found.append((OVERDUE, "used-without-check"))
    if wearing.function_check_owed(story, ask.n):
        found.append((OVERDUE, "function-check-owed"))
    held = wearing.cover(story, ask.n, ask.at, None)
    person = (story.placed(ask.n).holder or {}).get("person")
    needed = held is None or person not in {None, held.wearer}
    more = (
        ("cover_until", clock.iso(held.until) if held else None),
        ("covered_wearer", held.wearer if held else None),
        ("check_needed", needed),
    )
    return worst(found)._replace(more=more)


def cleaning(ask: Ask) -> Answer:
    """Judge whether it was cleaned before another wearer and after special use (29 CFR 1910.134(h)(1))."""
    return worst([(OVERDUE, "cleaning-owed")] if wearing.cleaning_owed(ask.story, ask.n) else [])
