"""Holds the fold against the oracle: views, intervals, uses and conflicts of one history."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import zip_longest
from random import Random
from typing import Any

from service.domain.coming import Coming
from service.domain.intervals import Interval
from service.domain.rules import RULES
from service.domain.standing import SCALE
from tests.domain.folding import Folding
from tests.oracle import wearing
from tests.oracle.case import lacks
from tests.oracle.conflict import conflicts
from tests.oracle.findings import findings
from tests.oracle.histories import START, History
from tests.oracle.span import pieces
from tests.oracle.story import Story
from tests.oracle.view import Standing, view
from tests.oracle.world import World

Piece = tuple[datetime, datetime, Any]


def differences(history: History, random: Random, moments: int = 6) -> list[str]:
    """Say where fold and oracle differ on a history, as known in the end and as known at a moment of it."""
    whole = Folding(history.records, history.reports)
    found = lacks(whole.conflicts(), conflicts(history.records, history.reports))
    for known_at in (None, random.choice(history.records).recorded_at):
        world = World(history.records, history.reports, known_at)
        folding = whole if known_at is None else Folding(history.records, history.reports, known_at)
        until = horizon(world)
        for as_at in instants(world, random, moments):
            found += views_differ(folding, world, as_at)
        found += intervals_differ(folding, world, until)
        found += uses_differ(folding, world, until)
        found += findings_differ(folding, world, until)
    return found


def instants(world: World, random: Random, count: int) -> list[datetime]:
    """Pick instants to ask about: of facts, and any."""
    facts = sorted({fact.at for story in world.stories.values() for fact in story.facts})
    anywhere = [START + timedelta(seconds=random.randrange(60 * 24 * 3600)) for _ in range(count // 3)]
    return [*anywhere, *(random.choice(facts) for _ in range(count - len(anywhere)) if facts)]


def horizon(world: World) -> datetime:
    """Give a moment some weeks after the last fact of any unit."""
    return max((story.facts[-1].at for story in world.stories.values()), default=START) + timedelta(days=45)


def views_differ(folding: Folding, world: World, as_at: datetime) -> Iterator[str]:
    """Say where a unit is shown otherwise at a moment."""
    shown = folding.views(as_at)
    tags = {unit: world.identity.tag(unit, as_at) for unit in world.stories}
    told = {unit: view(world.stories[unit], tag, as_at) for unit, tag in tags.items() if tag is not None}
    for unit in sorted(shown.keys() | told.keys()):
        yield from (f"{unit} at {as_at}: {line}" for line in lacks(shown.get(unit), told.get(unit)))


def intervals_differ(folding: Folding, world: World, until: datetime) -> Iterator[str]:
    """Say where a unit stands otherwise in time, with what each rule says."""
    for unit, story in folding.stories().items():
        start = world.stories[unit].registered_at()
        begun = (one for one in story.intervals if one.since < until)
        mine = merged((one.since, min(one.until, until), of_interval(one)) for one in begun)
        theirs = merged(of_pieces(world.stories[unit], start, until))
        yield from (f"{unit}: {left} not {right}" for left, right in zip_longest(mine, theirs) if left != right)


def of_interval(one: Interval) -> tuple[Any, ...]:
    """Give what an interval says."""
    digits = one.rules if one.rules.isdigit() else "0" * len(RULES)
    rules = tuple(SCALE[int(digit)] for digit in digits)
    return (one.site, one.model, one.phase, one.in_scope, one.standing, one.do_not_use, one.reasons, rules)


def of_pieces(story: Story, start: datetime, until: datetime) -> Iterator[Piece]:
    """Give what the oracle says of each piece of time."""
    for left, right, one in pieces(story, start, until):
        n = story.upto(left)
        yield left, right, (story.site(n), story.model_ref(n), *of_standing(one))


def of_standing(one: Standing) -> tuple[Any, ...]:
    """Give what the oracle says of a moment."""
    rules = tuple(one.rules[rule.name].standing for rule in RULES)
    return (one.phase, one.in_scope, one.standing, one.do_not_use, one.reasons, rules)


def merged(told: Iterable[Piece]) -> list[Piece]:
    """Join neighbours that say the same."""
    found: list[Piece] = []
    for since, until, said in told:
        if found and found[-1][1] == since and found[-1][2] == said:
            found[-1] = (found[-1][0], until, said)
        else:
            found.append((since, until, said))
    return found


def uses_differ(folding: Folding, world: World, until: datetime) -> Iterator[str]:
    """Say where the uses counted, or the moments at which they lack cover, are others."""
    for unit, story in folding.stories().items():
        for moment in told_up_to(story.coming, until):
            mine, theirs = folding.uses(story, moment), told_uses(world.stories[unit], moment)
            if mine != theirs:
                yield f"{unit}: fold only {set(mine) - set(theirs)}, oracle only {set(theirs) - set(mine)}"


def told_up_to(coming: Coming, until: datetime) -> set[datetime]:
    """Give a moment, and the last ones up to which uses were told beforehand, and told to be sound."""
    return {until, *(min(until, at) for at in (coming.until, *coming.uses[coming.sound : coming.sound + 1]))}


def findings_differ(folding: Folding, world: World, until: datetime) -> Iterator[str]:
    """Say where something else is found of a unit, or of a voiding without effect."""
    voidings: set[str] = set()
    for unit, story in folding.stories().items():
        for moment in told_up_to(story.coming, until):
            told = folding.findings(story, moment)
            apart = [one for one in told if one.event in world.own_voidings]
            voidings |= {str(one.event) for one in apart if one.reasons == ("own-adverse-event",)}
            mine, theirs = [one for one in told if one not in apart], findings(world.stories[unit], moment)
            if mine != theirs:
                yield f"{unit}: fold only {set(mine) - set(theirs)}, oracle only {set(theirs) - set(mine)}"
    if voidings != world.own_voidings:
        yield f"voidings without effect: {voidings} not {world.own_voidings}"


def told_uses(story: Story, until: datetime) -> list[tuple[datetime, str, datetime | None]]:
    """Give the oracle's counted uses, each with the moment at which it first lacked cover."""
    return [
        (use.at, use.site, use.breach if use.breach is not None and use.breach < until else None)
        for use in wearing.uses(story, until)
        if use.counted and use.at < until
    ]
