"""The rule about everything held against a unit."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import Any, NamedTuple

from tests.oracle.asking import (
    DO_NOT_USE,
    Answer,
    Ask,
    worst,
)
from tests.oracle.fact import Fact
from tests.oracle.labels import plain
from tests.oracle.recall_rule import recalled
from tests.oracle.record import Message
from tests.oracle.story import Story

MOMENT = timedelta(microseconds=1)


def withdrawal(ask: Ask) -> Answer:
    """Speak of everything held against a unit, whatever its phase."""
    return worst([(DO_NOT_USE, reason) for reason in against(ask)])


def against(ask: Ask) -> set[str]:
    """Gather what is held against a unit, against its parts with a serial of their own, and where it can't be had."""
    story = ask.story
    phase = story.phase(ask.n)
    found = own_troubles(story, ask.n) | ({phase} & {"missing", "at-service", "retired"})
    parts = (partial(of_part, part) for part in story.world.stories.values() if part is not story)
    elsewhere: list[Callable[[Story, datetime], set[str]]] = [reported, *parts]
    for speaks in elsewhere:
        now = speaks(story, ask.at)
        found |= speaks(story, ask.at - MOMENT) if now and ask.before else now
    return found


def own_troubles(story: Story, n: int) -> set[str]:
    """Gather what is held against a unit itself by its events."""
    reasons = {mark.reason for mark in story.held(n)}
    found = {"withdrawal"} if reasons else set()
    if "recall" in reasons:
        found.add("recall")
    if story.recheck(n):
        found.add("recheck")
    return found


def reported(story: Story, at: datetime) -> set[str]:
    """Say whether a report speaks against a unit."""
    return {"unresolved-report"} if unresolved(story, at) else set()


def of_part(part: Story, story: Story, at: datetime, inside: tuple[Story, ...] = ()) -> set[str]:
    """Gather what speaks against a part of a unit, and against parts of that part in turn."""
    if part in inside or not serves(part, story, at):
        return set()
    n = part.upto(at)
    found = own_troubles(part, n) | reported(part, at) | recalled(Ask(part, n, at)) | ({"retired"} & {part.phase(n)})
    others = (other for other in part.world.stories.values() if other is not part)
    return found.union(*(of_part(other, part, at, (*inside, part)) for other in others))


def unresolved(story: Story, at: datetime) -> bool:
    """Say whether a report of a failure that could not be accepted still names the unit."""
    known_at = story.world.known_at
    for report in story.world.reports:
        settled = report.settled_at if known_at is None or (report.settled_at or known_at) <= known_at else None
        speaks = report.received_at <= at and (settled is None or at < settled)
        if speaks and story.world.identity.owner(report.tag, (report.received_at, True, 99)) == story.unit:
            return True
    return False


def host(part: Story, at: datetime) -> Story | None:
    """Find the unit a component is fitted in."""
    return part.world.stories.get(bearer(moves(part, at)))


def bearer(told: list[Move]) -> Any:
    """Name the unit a component is fitted in by some moves: what takes it out of another than that moves nothing."""
    unit = None
    for move in told:
        if move.host is not None or (move.teller is not None and move.teller == unit):
            unit = move.host
    return unit


def serves(part: Story, story: Story, at: datetime) -> bool:
    """Say whether a component's condition counts for a unit: put in there, or registered for it, until that tells.

    What it tells of a day alone counts from the beginning of that.
    """
    if at < part.registered_at():
        return False
    own = [move.host for move in moves(part, at) if story.unit in {move.teller, move.host}]
    return (bool(own) and own[-1] == story.unit) or comes_today(part, story, at)


def comes_today(part: Story, story: Story, at: datetime) -> bool:
    """Say whether a component may be in a unit already by a day alone that is not over."""
    if at < part.registered_at():
        return False
    acts = (story.facts[index] for index in story.swaps if not story.dead(index))
    here = [act for act in acts if act.day is not None and act.versions_at <= at < act.at]
    named = [move.key for one in {act.at for act in here} for move in moves(part, one) if move.host == story.unit]
    return any(act.key in named for act in here)


class Move(NamedTuple):
    """Where a component is by a message, and which unit tells it; None for its own registration.

    `day` is when it may have been at the earliest.
    """

    key: Any
    teller: Any
    host: Any
    day: datetime


def moves(part: Story, at: datetime) -> list[Move]:
    """List them in order; none for what was never registered as a component."""
    homes = [one for one in (part.facts[index] for index in part.registrations) if one.get("fitted_to") is not None]
    if not homes:
        return []
    owner, serial = part.world.identity.owner, part.unit[1]
    known = [one for one in homes if one.at <= at]
    found = [Move(one.key, None, owner(one.get("fitted_to"), one.key), earliest(one)) for one in known]
    for story in part.world.stories.values():
        swaps = [story.facts[index] for index in story.swaps if index < story.upto(at) and not story.dead(index)]
        for nth, fact in enumerate(swaps):
            if serial_of(fact.get("in")) == serial:
                found.append(Move(fact.key, story.unit, story.unit, earliest(fact)))
            elif takes_out(swaps[: nth + 1], serial):
                found.append(Move(fact.key, story.unit, None, earliest(fact)))
    return sorted(found, key=lambda move: move.key)


def takes_out(swaps: list[Fact], serial: str) -> bool:
    """Say whether the last of a unit's swaps takes the component out: as a part, from the last place it was put in."""
    *before, last = swaps
    if not out_of(last, serial):
        return False
    sits = {fact.get("position") for nth, fact in enumerate(before) if still_there(before, nth, serial)}
    return not sits or sits == {last.get("position")}


def still_there(swaps: list[Fact], nth: int, serial: str) -> bool:
    """Say whether a swap put a part of the serial in, and none since took one out of the same position."""
    fact = swaps[nth]
    if fact.kind != "part-replaced" or serial_of(fact.get("in")) != serial:
        return False
    place = fact.get("position")
    return not any(out_of(one, serial) and one.get("position") == place for one in swaps[nth + 1 :])


def out_of(fact: Fact, serial: str) -> bool:
    """Say whether a swap takes a part of the serial out of its place, and puts none in."""
    taken = serial_of(fact.get("out")) == serial != serial_of(fact.get("in"))
    return fact.kind == "part-replaced" and taken


def earliest(fact: Fact) -> datetime:
    """Say when it may have been at the earliest."""
    return fact.at if fact.day is None else fact.versions_at


def serial_of(part: Message | None) -> str | None:
    """Give the serial of a part as it is compared."""
    found = (part or {}).get("serial")
    return None if found is None else plain(found)
