"""What is true of each unit at a moment."""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from tests.oracle import clock
from tests.oracle.asking import DO_NOT_USE, OUT, OVERDUE, Answer, Ask, worst
from tests.oracle.parts import fitted
from tests.oracle.recall_rule import recalled
from tests.oracle.record import Record, Report
from tests.oracle.rules import RULES
from tests.oracle.story import Story
from tests.oracle.withdrawal_rule import against
from tests.oracle.world import World

BREACH = frozenset({OVERDUE, DO_NOT_USE})


class Standing(NamedTuple):
    """The standing of a unit at an instant with everything it rests on."""

    phase: str
    in_scope: bool
    standing: str
    do_not_use: bool
    reasons: tuple[str, ...]
    rules: dict[str, Answer]


def standing(story: Story, at: datetime) -> Standing:
    """Judge a unit at an instant."""
    n = story.upto(at)
    ask = Ask(story, n, at)
    phase = story.phase(n)
    if not story.in_scope(n, at):
        held = tuple(sorted(against(ask) | recalled(ask)))
        return Standing(phase, False, OUT, bool(held), held, dict.fromkeys(RULES, Answer(OUT)))
    rules = {name: rule(ask) for name, rule in RULES.items()}
    judged = [(answer.standing, "") for answer in rules.values() if answer.standing != OUT]
    overall = worst(judged).standing
    reasons = {reason for answer in rules.values() if answer.standing in BREACH for reason in answer.reasons}
    return Standing(phase, True, overall, overall in BREACH, tuple(sorted(reasons)), rules)


def ready(story: Story, n: int, at: datetime, *, before: bool = False) -> dict[str, Any]:
    """Say what would stand against a unit were it issued now, or (`before`) in the middle of that instant."""
    ask = Ask(story, n, at, on_issue=True, before=before)
    answers = [rule(ask) for rule in RULES.values()]
    reasons = {reason for answer in answers if answer.standing in BREACH for reason in answer.reasons}
    return {"ready": not reasons, "reasons": sorted(reasons)}


def view(story: Story, tag: str, at: datetime) -> dict[str, Any]:
    """Show a unit at an instant."""
    n = story.upto(at)
    found = standing(story, at)
    place = story.placed(n)
    return {
        "tag": tag,
        "model": story.model_ref(n),
        "serial": story.registration(n).get("serial"),
        "site": story.site(n),
        "use": story.use(n, at),
        "phase": found.phase,
        "place": story.place_name(n),
        "holder": place.holder,
        "last_wearer": story.last_wearing(n),
        "put_away": clock.iso(put_away_since(story, n)),
        "in_scope": found.in_scope,
        "standing": found.standing,
        "do_not_use": found.do_not_use,
        "reasons": list(found.reasons),
        "rules": {name: shown(answer) for name, answer in found.rules.items()},
        "parts": parts(story, n),
        "ready_to_issue": ready(story, n, at),
    }


def shown(answer: Answer) -> dict[str, Any]:
    """Show the answer of a rule."""
    return {"standing": answer.standing, "reasons": list(answer.reasons), **dict(answer.more)}


def parts(story: Story, n: int) -> list[dict[str, Any]]:
    """Show the parts known to be fitted, by position."""
    now = sorted(fitted(story, n).items())
    return [
        {
            "position": position,
            "item": found.part["item"],
            "lot": found.part.get("lot"),
            "fitted_at": clock.iso(found.fact.at),
        }
        for position, found in now
        if found.part is not None
    ]


def put_away_since(story: Story, n: int) -> datetime | None:
    """Give the instant from which a unit is quarantined and in nobody's hands."""
    if not story.put_away(n):
        return None
    given: datetime = min(story.facts[mark.nth].at for mark in story.held(n))
    since: datetime | None = story.placed(n).since
    return given if since is None else max(since, given)


def judge(
    records: list[Record],
    reports: list[Report],
    as_at: datetime,
    known_at: datetime | None = None,
) -> dict[str, dict[str, Any]]:
    """Show every unit at `as_at` by its tag, from what was known at `known_at` (None: everything).

    A unit whose tag has passed to another is shown under the tag, a tilde and its serial number.
    """
    world = World(records, reports, known_at)
    return views(world, as_at)


def views(world: World, as_at: datetime) -> dict[str, dict[str, Any]]:
    """Show every unit of a world at an instant."""
    found = {}
    for unit, story in world.stories.items():
        tag = world.identity.tag(unit, as_at)
        if tag is None:
            continue
        name = f"{tag}~{unit[1]}" if world.identity.displaced(unit, tag, as_at) else tag
        found[name] = view(story, tag, as_at)
    return found
