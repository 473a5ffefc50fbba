"""The rule about the battery of a powered unit."""

from __future__ import annotations

from tests.oracle import verdict
from tests.oracle.asking import (
    DO_NOT_USE,
    OUT,
    OVERDUE,
    Answer,
    Ask,
    worst,
)
from tests.oracle.part_rules import dated
from tests.oracle.parts import fitted
from tests.oracle.record import Message
from tests.oracle.story import Story


def power(ask: Ask) -> Answer:
    """Judge charge, capacity and age of the battery of a powered unit."""
    if ask.model.get("device") != "powered":
        return Answer(OUT)
    found = [*charge(ask), *capacity(ask)]
    for part in fitted(ask.story, ask.n).values():
        if part.part is not None and role_now(ask, part.position) == "battery":
            found.extend(dated(ask, part, warn=False))
    return worst(found)


def role_now(ask: Ask, name: str) -> str | None:
    """Name the role of a position in the model in force."""
    named = [found["role"] for found in ask.model.get("positions") or [] if found["position"] == name]
    return named[0] if named else None


def charge(ask: Ask) -> list[tuple[str, str]]:
    """Judge the last charge read since the battery was swapped."""
    story = ask.story
    for index in story.back(ask.n):
        if story.battery_changed(index):
            return [(OVERDUE, "charge-unknown")]
        low = charge_low(story, index, ask.model)
        if low is not None:
            return [(DO_NOT_USE, "charge-low")] if low else []
    return []


def charge_low(story: Story, index: int, now: Message) -> bool | None:
    """Say whether a check showed too little charge for the model as it is now; None where nothing told."""
    fact = story.facts[index]
    if fact.echo or fact.kind not in {"checked", "failed-check"}:
        return None
    model = story.model_of(index) or {}
    if fact.get("battery_percent") is not None:
        return verdict.flat(fact, now)
    points = [point["point"] for point in model.get("points") or [] if point.get("role") == "battery"]
    told = any(story.verdict(index).results[point] != "missing" for point in points)
    return False if told else None


def capacity(ask: Ask) -> list[tuple[str, str]]:
    """Judge the last capacity measured since the battery was swapped."""
    limit = (ask.model.get("battery") or {}).get("end_of_life_percent")
    for index in ask.story.back(ask.n):
        if ask.story.battery_changed(index):
            return []
        fact = ask.story.facts[index]
        read = None if fact.echo else fact.get("capacity_percent")
        if read is not None:
            return [(OVERDUE, "capacity-low")] if limit is not None and read < limit else []
    return []
