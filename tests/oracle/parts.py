"""Which part sits where."""

from typing import NamedTuple

from tests.oracle.fact import Fact
from tests.oracle.record import Message
from tests.oracle.told import SWAPS, Told


class Fitted(NamedTuple):
    """What is known of a position: its part (None: emptied), the fact that fitted it, that fact's number, its role."""

    position: str
    part: Message | None
    fact: Fact
    nth: int
    role: str | None


def fitted(story: Told, n: int) -> dict[str, Fitted]:
    """Give what is known to be fitted, by position, after `n` facts."""
    question = ("fitted", n)
    if question not in story.memory:
        found: dict[str, Fitted] = {}
        for index in sorted(story.back(n)):
            for position, part in changes(story, index).items():
                before = found.get(position)
                said = story.facts[index].kind in {"part-identified", "registered"}
                kept = said and before is not None and before.part is not None
                fact, place = (before.fact, before.nth) if kept and before else (story.facts[index], index)
                found[position] = Fitted(position, part, fact, place, role_of(story, index, position))
        story.memory[question] = found
    return dict(story.memory[question])


def changes(story: Told, index: int) -> dict[str, Message | None]:
    """Give what a fact says is fitted now, by position."""
    fact = story.facts[index]
    if fact.kind in {"registered", "repaired"}:
        return {found["position"]: found["part"] for found in fact.get("parts") or []}
    if fact.kind == "part-identified":
        return {fact.get("position"): fact.get("part")}
    return {fact.get("position"): fact.get("in")} if fact.kind in SWAPS else {}


def role_of(story: Told, index: int, position: str) -> str | None:
    """Name the role of a position by the model of a fact."""
    positions = (story.model_of(index) or {}).get("positions") or []
    named = [found["role"] for found in positions if found["position"] == position]
    return named[0] if named else None
