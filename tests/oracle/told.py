"""The facts of one unit in the order of truth, and what it is.

Every question is put about the first `n` facts in the order of truth, so that it can be asked of any instant and of any
place between two events. Answers are remembered, never carried forward.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import wraps
from typing import TYPE_CHECKING, Any

from tests.oracle.fact import Fact
from tests.oracle.record import Message

if TYPE_CHECKING:
    from tests.oracle.world import World

SWAPS = frozenset({"part-replaced", "filter-replaced"})
NAMES_SITE = frozenset({"registered", "received", "issued", "stationed", "returned", "found"})


def remembered(method: Callable[..., Any]) -> Callable[..., Any]:
    """Remember the answers of a method of one story."""

    @wraps(method)
    def answer(self: Told, *args: Any) -> Any:
        question = (method.__name__, *args)
        if question not in self.memory:
            self.memory[question] = method(self, *args)
        return self.memory[question]

    return answer


class Told:
    """The facts of a unit, and what it is."""

    def __init__(self, world: World, unit: tuple[str, str], facts: list[Fact]) -> None:
        self.world, self.unit, self.facts = world, unit, facts
        self.memory: dict[tuple[Any, ...], Any] = {}
        self.instants = [fact.at for fact in facts]
        self.registrations = [index for index, fact in enumerate(facts) if fact.kind == "registered"]
        self.swaps = [index for index, fact in enumerate(facts) if fact.get("in") or fact.get("out")]

    def upto(self, at: datetime) -> int:
        """Count the facts that have happened by an instant."""
        return bisect.bisect_right(self.instants, at)

    def back(self, n: int, down_to: int = 0) -> Iterator[int]:
        """Walk the facts that count, from the newest of the first `n` back."""
        for index in range(n - 1, down_to - 1, -1):
            if not self.dead(index):
                yield index

    def registered_at(self) -> datetime:
        """Give the instant from which the unit is known."""
        return self.facts[self.registrations[0]].at

    def registrations_known(self) -> list[int]:
        """Give the numbers of facts after which each registration is known."""
        return [index + 1 for index in self.registrations]

    @remembered
    def registration(self, n: int) -> Fact:
        """Give the registration in force; the first one holds for all earlier time."""
        until = [index for index in self.registrations if index < n]
        return self.facts[until[-1] if until else self.registrations[0]]

    def model_ref(self, n: int) -> str:
        """Name the model."""
        return str(self.registration(n).get("model"))

    def models(self, n: int) -> set[str]:
        """Name every model it was ever registered as."""
        return {str(self.facts[index].get("model")) for index in self.registered_before(n)}

    def model(self, n: int, at: datetime) -> Message | None:
        """Give the model's version in force at an instant."""
        return self.world.book.thing("model", self.model_ref(n), at)

    def model_of(self, index: int) -> Message | None:
        """Give the model's version by which a fact is judged."""
        return self.model(index + 1, self.facts[index].versions_at)

    def role(self, index: int) -> str | None:
        """Name the role of the position a part change speaks of."""
        positions = (self.model_of(index) or {}).get("positions") or []
        named = [found["role"] for found in positions if found["position"] == self.facts[index].get("position")]
        return named[0] if named else None

    def component(self, n: int) -> bool:
        """Say whether it was ever registered as a part of another unit."""
        return any(self.facts[index].get("fitted_to") is not None for index in self.registered_before(n))

    @remembered
    def site(self, n: int) -> str:
        """Name the site it belongs to."""
        for index in self.back(n):
            fact = self.facts[index]
            if fact.kind in NAMES_SITE and fact.get("site") is not None:
                return str(fact.get("site"))
        return str(self.registration(n).get("site"))

    def use(self, n: int, at: datetime) -> str:
        """Name the use it is set to; `occasional` needs someone with authority and bites from receipt."""
        for index in self.back(n):
            fact = self.facts[index]
            if fact.kind == "use-set" and self.bites(fact, at):
                return str(fact.get("use"))
            if fact.kind == "registered" and fact.get("use") is not None:
                break
        given = next(
            (self.facts[i].get("use") for i in self.registered_before(n) if self.facts[i].get("use")), "routine"
        )
        return "routine" if given == "occasional" else given

    def registered_before(self, n: int) -> list[int]:
        """List the registrations until now, newest first, or else the first one."""
        return [index for index in reversed(self.registrations) if index < n] or self.registrations[:1]

    @staticmethod
    def bites(fact: Fact, at: datetime) -> bool:
        """Say whether a setting of use counts at an instant."""
        if fact.get("use") != "occasional":
            return True
        return fact.record.role in {"site-lead", "manager", "administrator"} and at >= fact.record.received_at

    @remembered
    def retired(self, n: int) -> bool:
        """Say whether it was retired and not registered again since."""
        for index in range(n - 1, -1, -1):
            kind = self.facts[index].kind
            if kind == "retired":
                return True
            if kind == "registered" and index != self.registrations[0]:
                return False
        return False

    @remembered
    def dead(self, index: int) -> bool:
        """Say whether a fact changes nothing because the unit is retired."""
        return self.facts[index].kind != "registered" and self.retired(index)

    def revival(self, index: int) -> bool:
        """Say whether a fact registers a retired unit again."""
        return self.facts[index].kind == "registered" and self.retired(index)

    def setting(self, policy: str, value: str, n: int, at: datetime) -> Any:
        """Give a value of a policy for this unit."""
        return self.world.book.setting(policy, value, at, self.site(n), self.model_ref(n))
