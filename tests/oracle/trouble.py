"""What is held against a unit, and the ways out."""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from tests.oracle.fact import Fact
from tests.oracle.proof import Proof
from tests.oracle.recalls import Opening, bears
from tests.oracle.told import remembered

SEEN = frozenset(
    {
        "found", "received", "returned", "part-identified", "part-replaced", "filter-replaced", "cleaned", "repaired",
        "examined", "checked", "failed-check", "failed-in-use", "recall-actioned", "issued", "stationed", "worn",
        "moved", "sent-to-service",
    },
)  # fmt: skip
EXAMINED_AWAY = frozenset({"found", "contamination", "suspect", "overdue", "other"})


class Mark(NamedTuple):
    """A reason for quarantine and the fact, by its index, that gives it."""

    reason: str
    nth: int


class Trouble(Proof):
    """The facts of a unit with what is held against it."""

    @remembered
    def seeing(self, index: int) -> bool:
        """Say whether a fact shows that someone had the unit before them."""
        fact = self.facts[index]
        put = fact.kind == "quarantined" and fact.get("place") is not None
        return (fact.kind in SEEN or put) and not fact.echo

    @remembered
    def missing(self, n: int) -> bool:
        """Say whether it is missing: nobody has seen it since."""
        for index in self.back(n):
            if self.facts[index].kind == "missing":
                return True
            if self.seeing(index) or self.revival(index):
                return False
        return False

    def finding(self, index: int) -> bool:
        """Say whether a fact finds a missing unit."""
        return bool(not self.dead(index) and self.seeing(index) and self.missing(index))

    @remembered
    def marks(self, index: int) -> tuple[Mark, ...]:
        """List the reasons for quarantine that a fact gives."""
        fact = self.facts[index]
        reasons = []
        if self.withdraws(index):
            reasons.append("failed")
        if fact.kind == "quarantined":
            reasons.append(fact.get("reason"))
        if fact.kind == "found" or self.finding(index):
            reasons.append("found")
        return tuple(Mark(reason, index) for reason in reasons)

    @remembered
    def held(self, n: int) -> tuple[Mark, ...]:
        """List the reasons held: all that were given since the last release that counted."""
        found: list[Mark] = []
        for index in self.back(n):
            if self.effective_release(index):
                break
            found.extend(self.marks(index))
        return tuple(found)

    @remembered
    def effective_release(self, index: int) -> bool:
        """Say whether a fact is a release that counts."""
        fact = self.facts[index]
        if fact.kind != "released" or self.dead(index) or not (self.held(index) or self.frees(index)):
            return False
        return self.competent(index, "release") and self.grounded(index)

    @remembered
    def grounded(self, index: int) -> bool:
        """Say whether every reason held has its ground before a release."""
        held = self.held(index)
        forgiven = self.forgiven(index)
        return all(
            self.has_ground(why, held, index, None)
            or self.lifted(why, index)
            or (forgiven is not None and self.has_ground(why, held, index, forgiven))
            for why in {self.why(mark) for mark in held}
        )

    def why(self, mark: Mark) -> tuple[str, str | None]:
        """Give a reason, and the recall it belongs to: each recall is held by itself."""
        return (mark.reason, self.facts[mark.nth].get("recall") if mark.reason == "recall" else None)

    def has_ground(self, why: tuple[str, str | None], held: tuple[Mark, ...], index: int, forgiven: str | None) -> bool:
        """Say whether a reason has its ground; what was voided and released by another is left out of account."""
        marks = [mark.nth for mark in held if self.why(mark) == why and self.facts[mark.nth].record.id != forgiven]
        reason, recall = why
        if not marks:
            return True
        newest = max(self.facts[mark].at for mark in marks)
        if reason == "recall":
            return self.remedied(recall, newest, index) or self.examined_since_voided(recall, newest, index)
        if reason in EXAMINED_AWAY:
            return self.examined_after(newest, index)
        newest = max([newest, *(self.facts[i].at for i in self.failures(index, forgiven))])
        return self.examined_after(newest, index) or self.repaired_after(newest, index)

    def failures(self, index: int, forgiven: str | None) -> list[int]:
        """List the failures before a place, but the one forgiven."""
        return [i for i in self.back(index) if self.failing(i) and self.facts[i].record.id != forgiven]

    def examined_after(self, since: datetime, index: int) -> bool:
        """Say whether a passing examination came later than an instant and before a place."""
        return any(self.facts[i].at > since and self.valid_examination(i) for i in self.back(index))

    def repaired_after(self, since: datetime, index: int) -> bool:
        """Say whether a competent repair, and a complete passing check after it, came later than an instant."""
        repairs = [
            self.facts[i].at
            for i in self.back(index)
            if self.facts[i].kind == "repaired" and self.facts[i].at > since and self.competent(i, "repair")
        ]
        return bool(repairs) and any(
            self.complete_check(i) and self.facts[i].at > min(repairs) for i in self.back(index)
        )

    def remedied(self, recall: str | None, since: datetime, index: int) -> bool:
        """Say whether a recall (None: any) was acted on with a remedy, or found not to matter here."""
        done = [
            self.facts[i].get("recall")
            for i in self.back(index)
            if self.facts[i].kind == "recall-actioned"
            and self.facts[i].at > since
            and self.facts[i].get("result") in {"fixed", "not-affected"}
        ]
        done += [ref for i in self.back(index) if self.facts[i].at > since for ref in self.ruled_out(i)]
        return recall in done if recall is not None else bool(done)

    @remembered
    def ruled_out(self, index: int) -> set[str]:
        """Name the recalls that an identification shows not to bear on the unit."""
        fact = self.facts[index]
        if fact.kind != "part-identified":
            return set()
        return self.under(index, fact.at) - self.under(index + 1, fact.at)

    def under(self, n: int, at: datetime) -> set[str]:
        """Name the recalls opened before an instant that bear on the unit after `n` facts."""
        before = [opening for opening in self.world.openings if opening.at < at]
        return {opening.recall for opening in before if bears(self, n, at, opening)}

    def examined_since_voided(self, recall: str | None, since: datetime, index: int) -> bool:
        """Say whether a recall was voided altogether, and a passing examination came after that and an instant."""
        voided = self.voided_altogether(recall, self.facts[index].at)
        return voided is not None and self.examined_after(max(since, voided), index)

    def voided_altogether(self, recall: str | None, at: datetime) -> datetime | None:
        """Give the instant by which every opening of a recall before another was voided, None where one stands."""
        mine = [opening for opening in self.world.openings if opening.recall == recall and opening.at < at]
        if not mine or any(opening.ends is None for opening in mine):
            return None
        return max(opening.ends for opening in mine if opening.ends is not None)

    def lifted(self, why: tuple[str, str | None], index: int) -> bool:
        """Say whether a reason is a recall whose voiding the release rests on, and which was voided altogether."""
        named = {opening.recall for opening in self.rests_on(index)}
        return why[1] in named and self.voided_altogether(why[1], self.facts[index].at) is not None

    def frees(self, index: int) -> bool:
        """Say whether a release rests on the voiding of a recall that bears on the unit."""
        at = self.facts[index].at
        return any(opening.at < at and bears(self, index, at, opening) for opening in self.rests_on(index))

    @remembered
    def rests_on(self, index: int) -> list[Opening]:
        """List the openings of the recall on whose voiding a release may rest."""
        release = self.facts[index]
        named = str(release.get("voiding") or "").lower()
        rested = (
            (opening, voiding)
            for opening in self.world.openings
            for voiding in opening.voidings
            if voiding.id == named and self.may_forgive(release)
        )
        return [opening for opening, voiding in rested if self.checked_meanwhile(index, opening, voiding)]

    def checked_meanwhile(self, index: int, opening: Opening, voiding: Any) -> bool:
        """Say whether a third person's complete check, of the unit held or recalled, came after opening and voiding."""
        barred = {opening.record.by, voiding.by, self.facts[index].record.by}
        same = [other for other in self.world.openings if other.record is opening.record]
        marks = [other.at for other in same if other.key < self.facts[index].key]
        if not marks:
            return False
        since = max([*marks, self.world.posted_at(voiding)])
        return any(
            self.complete_check(i)
            and self.facts[i].at > since
            and self.facts[i].record.by not in barred
            and bool(self.held(i) or self.under(i, self.facts[i].at))
            for i in self.back(index)
        )

    @remembered
    def forgiven(self, index: int) -> str | None:
        """Give the id of the bad news whose voiding a release may rest on."""
        release = self.facts[index]
        named = str(release.get("voiding") or "").lower()
        for fact in self.facts[:index]:
            for voiding in fact.voidings:
                if voiding.id == named and self.may_forgive(release) and self.rechecked(index, fact, voiding):
                    return fact.record.id
        return None

    def may_forgive(self, release: Fact) -> bool:
        """Say whether a release comes from a key with authority at the unit's site."""
        record = release.record
        site = self.site(self.facts.index(release))
        if record.role == "site-lead":
            return record.sites is None or site in record.sites
        return record.role in {"manager", "administrator"}

    def rechecked(self, index: int, bad: Fact, voiding: Any) -> bool:
        """Say whether a third person's complete passing check came later than the voiding and the bad news."""
        barred = {bad.record.by, voiding.by, self.facts[index].record.by}
        marks = [fact.at for fact in self.facts[:index] if fact.record is bad.record]
        since = max([*marks, self.world.posted_at(voiding)])
        return any(
            self.complete_check(i) and self.facts[i].at > since and self.facts[i].record.by not in barred
            for i in self.back(index)
        )
