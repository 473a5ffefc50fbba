"""The rule about everything held against a unit."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial

from tests.oracle.asking import (
    DO_NOT_USE,
    Answer,
    Ask,
    worst,
)
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


def of_part(part: Story, story: Story, at: datetime) -> set[str]:
    """Gather what speaks against a part of a unit."""
    if host(part, at) is not story:
        return set()
    n = part.upto(at)
    return own_troubles(part, n) | reported(part, at) | recalled(Ask(part, n, at)) | ({"retired"} & {part.phase(n)})


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
    n = part.upto(at)
    registration = part.registration(n)
    if registration.get("fitted_to") is None or at < part.registered_at():
        return None
    moves = [(registration.key, part.world.identity.owner(registration.get("fitted_to"), registration.key))]
    serial = part.unit[1]
    for story in part.world.stories.values():
        swaps = [index for index in story.swaps if index < story.upto(at) and not story.dead(index)]
        for fact in (story.facts[index] for index in swaps):
            if serial_of(fact.get("in")) == serial:
                moves.append((fact.key, story.unit))
            elif serial_of(fact.get("out")) == serial:
                moves.append((fact.key, None))
    unit = max(moves, key=lambda move: move[0])[1]
    return part.world.stories.get(unit) if unit else None


def serial_of(part: Message | None) -> str | None:
    """Give the serial of a part as it is compared."""
    found = (part or {}).get("serial")
    return None if found is None else str(found).strip().upper()
