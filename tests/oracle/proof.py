"""What the checks and examinations of a unit prove."""

from __future__ import annotations

from datetime import timedelta

from tests.oracle import verdict
from tests.oracle.told import Told, remembered
from tests.oracle.verdict import Verdict

CHECKS = frozenset({"checked", "failed-check"})
WEEK = timedelta(days=7)


class Proof(Told):
    """The facts of a unit with what they prove."""

    @remembered
    def verdict(self, index: int) -> Verdict:
        """Judge a check or an examination; an echo repeats the verdict of its original."""
        fact = self.facts[index]
        if fact.echo:
            index = next(nth for nth, one in enumerate(self.facts) if one.record is fact.record and not one.echo)
            fact = self.facts[index]
        return verdict.judge(fact, self.model_of(index), self.world.book)

    @remembered
    def failing(self, index: int) -> bool:
        """Say whether a fact is a failure."""
        kind = self.facts[index].kind
        return kind == "failed-in-use" or (kind in verdict.JUDGED and self.verdict(index).failing)

    def failing_check(self, index: int) -> bool:
        """Say whether a fact is a check that failed."""
        return self.facts[index].kind in CHECKS and bool(self.failing(index))

    @remembered
    def complete_check(self, index: int) -> bool:
        """Say whether a fact is a complete passing check."""
        fact = self.facts[index]
        return fact.kind == "checked" and not fact.echo and self.verdict(index).complete

    @remembered
    def valid_examination(self, index: int) -> bool:
        """Say whether a fact is a passing examination that counts."""
        fact = self.facts[index]
        model = self.model_of(index)
        return (
            fact.kind == "examined"
            and not fact.echo
            and model is not None
            and self.verdict(index).complete
            and verdict.measured(fact, model, self.world.book)
            and self.competent(index, "examine")
        )

    def competent(self, index: int, competence: str) -> bool:
        """Say whether the one who acted had a competence on record."""
        fact = self.facts[index]
        return self.world.people.competent(fact.record.by, competence, fact, self.model_ref(index + 1))

    @remembered
    def withdraws(self, index: int) -> bool:
        """Say whether a failure takes the unit out of use."""
        if not self.failing(index):
            return False
        if self.facts[index].kind not in CHECKS or "withdraw" in self.verdict(index).asks:
            return True
        return self.twice_running(index) or self.three_in_seven_days(index)

    def twice_running(self, index: int) -> bool:
        """Say whether another check failed before, with no complete passing check between."""
        for earlier in self.back(index):
            if self.complete_check(earlier):
                return False
            if self.failing_check(earlier) and self.facts[earlier].record.id != self.facts[index].record.id:
                return True
        return False

    def three_in_seven_days(self, index: int) -> bool:
        """Say whether three checks or more failed in the seven days that end here."""
        since = self.facts[index].at - WEEK
        recent = [
            other for other in self.back(index + 1) if self.facts[other].at >= since and self.failing_check(other)
        ]
        return len({self.facts[other].record.id for other in recent}) >= 3

    @remembered
    def recheck(self, n: int) -> bool:
        """Say whether a failed point waits for a complete passing check."""
        for index in self.back(n):
            if self.complete_check(index):
                return False
            if self.failing_check(index) and "recheck" in self.verdict(index).asks:
                return True
        return False
