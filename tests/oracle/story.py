"""The story of one unit: where it is, what is held against it, and what each of its events did.

Every question is put about the first `n` facts in the order of truth, so that it can be asked of any instant and of any
place between two events. Answers are remembered, never carried forward.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple

from tests.oracle import clock, verdict
from tests.oracle.fact import Fact
from tests.oracle.record import Message
from tests.oracle.verdict import Verdict

if TYPE_CHECKING:
    from tests.oracle.world import World

SEEN = frozenset(
    {
        "found", "received", "returned", "part-identified", "part-replaced", "filter-replaced", "cleaned", "repaired",
        "examined", "checked", "failed-check", "failed-in-use", "recall-actioned", "issued", "stationed", "worn",
        "moved", "sent-to-service",
    },
)  # fmt: skip
TO_STORE = frozenset({"returned", "received", "found", "moved", "sent-to-service"})
ENDS_AWAY = frozenset({"received", "returned", "issued", "stationed", "found"})
AWAY = {"moved": "in-transit", "sent-to-service": "at-service"}
NAMES_SITE = frozenset({"registered", "received", "issued", "stationed", "returned", "found"})
CHECKS = frozenset({"checked", "failed-check"})
WEARINGS = frozenset({"checked", "failed-check", "worn", "failed-in-use"})
SWAPS = frozenset({"part-replaced", "filter-replaced"})
SPECIAL = frozenset({"emergency", "training", "fit-test"})
EXAMINED_AWAY = frozenset({"found", "contamination", "suspect", "overdue", "other"})
WEEK = timedelta(days=7)


class Place(NamedTuple):
    """Where a unit is put, in whose hands, and since when."""

    where: str
    holder: Message | None
    place: str | None
    since: datetime | None


class Mark(NamedTuple):
    """A reason for quarantine and the fact, by its index, that gives it."""

    reason: str
    nth: int


def remembered(method: Callable[..., Any]) -> Callable[..., Any]:
    """Remember the answers of a method of one story."""

    @wraps(method)
    def answer(self: Story, *args: Any) -> Any:
        question = (method.__name__, *args)
        if question not in self.memory:
            self.memory[question] = method(self, *args)
        return self.memory[question]

    return answer


class Story:
    """The facts of a unit in the order of truth, and what they mean."""

    def __init__(self, world: World, unit: tuple[str, str], facts: list[Fact]) -> None:
        self.world, self.unit, self.facts = world, unit, facts
        self.memory: dict[tuple[Any, ...], Any] = {}
        self.instants = [fact.at for fact in facts]
        self.registrations = [index for index, fact in enumerate(facts) if fact.kind == "registered"]

    def upto(self, at: datetime) -> int:
        """Count the facts that have happened by an instant."""
        return bisect.bisect_right(self.instants, at)

    def back(self, n: int, down_to: int = 0) -> Iterator[int]:
        """Walk the facts that count, from the newest of the first `n` back."""
        for index in range(n - 1, down_to - 1, -1):
            if not self.dead(index):
                yield index

    # --- What the unit is

    def registered_at(self) -> datetime:
        """Give the instant from which the unit is known."""
        return self.facts[self.registrations[0]].at

    @remembered
    def registration(self, n: int) -> Fact:
        """Give the registration in force; the first one holds for all earlier time."""
        until = [index for index in self.registrations if index < n]
        return self.facts[until[-1] if until else self.registrations[0]]

    def model_ref(self, n: int) -> str:
        """Name the model."""
        return str(self.registration(n).get("model"))

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
        """Say whether it is a part of another unit."""
        return self.registration(n).get("fitted_to") is not None

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

    # --- Retired, missing, away, put somewhere

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
    def away(self, n: int) -> str | None:
        """Say whether it is in transit or at service."""
        for index in self.back(n):
            kind = self.facts[index].kind
            if kind in AWAY:
                return AWAY[kind]
            if kind in ENDS_AWAY or self.finding(index) or self.revival(index):
                return None
        return None

    @remembered
    def placed(self, n: int) -> Place:
        """Say where it was last put."""
        for index in self.back(n):
            place = self.puts(index)
            if place is not None:
                return place
        return Place("in-store", None, None, None)

    def puts(self, index: int) -> Place | None:
        """Say where a fact puts the unit, if anywhere."""
        fact = self.facts[index]
        if fact.echo:
            return None
        if fact.kind == "issued":
            return Place("issued", fact.get("holder"), fact.get("holder").get("place"), fact.at)
        if fact.kind == "stationed":
            return Place("stationed", None, fact.get("place"), fact.at)
        put_away = fact.kind == "quarantined" and fact.get("place") is not None
        if fact.kind in TO_STORE or put_away or self.finding(index) or self.revival(index) or self.to_store(index):
            return Place("in-store", None, fact.get("place"), fact.at)
        return None

    def to_store(self, index: int) -> bool:
        """Say whether a release led the unit to the store."""
        return bool(self.effective_release(index) and not self.away(index) and not self.missing(index))

    @remembered
    def phase(self, n: int) -> str:
        """Name the phase: retired, missing, away, quarantined, then where it is."""
        if self.retired(n):
            return "retired"
        if self.missing(n):
            return "missing"
        return self.away(n) or ("quarantined" if self.held(n) else self.placed(n).where)

    def place_name(self, n: int) -> str | None:
        """Name the place it is said to be at: where it was last seen, for a missing one."""
        for index in self.back(n):
            fact = self.facts[index]
            if fact.kind == "missing" and not fact.echo:
                return None if fact.get("last_place") is None else str(fact.get("last_place"))
            put = self.puts(index)
            if put is not None:
                return put.place
        return None

    def put_away(self, n: int) -> bool:
        """Say whether it is quarantined and in nobody's hands."""
        return bool(self.phase(n) == "quarantined" and self.placed(n).where == "in-store")

    def in_scope(self, n: int, at: datetime) -> bool:
        """Say whether it belongs to the rate."""
        if self.component(n):
            return False
        phase = self.phase(n)
        if phase == "in-store":
            return bool(self.setting("scope", "in_store", n, at))
        return phase in {"issued", "stationed"} or (phase == "quarantined" and not self.put_away(n))

    def setting(self, policy: str, value: str, n: int, at: datetime) -> Any:
        """Give a value of a policy for this unit."""
        return self.world.book.setting(policy, value, at, self.site(n), self.model_ref(n))

    # --- What its events prove

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

    # --- What is held against it

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
    def recheck(self, n: int) -> bool:
        """Say whether a failed point waits for a complete passing check."""
        for index in self.back(n):
            if self.complete_check(index):
                return False
            if self.failing_check(index) and "recheck" in self.verdict(index).asks:
                return True
        return False

    # --- Ways out

    @remembered
    def effective_release(self, index: int) -> bool:
        """Say whether a fact is a release that counts."""
        fact = self.facts[index]
        if fact.kind != "released" or self.dead(index) or not self.held(index):
            return False
        return self.competent(index, "release") and self.grounded(index)

    @remembered
    def grounded(self, index: int) -> bool:
        """Say whether every reason held has its ground before a release."""
        held = self.held(index)
        forgiven = self.forgiven(index)
        return all(
            self.has_ground(reason, held, index, None)
            or (forgiven is not None and self.has_ground(reason, held, index, forgiven))
            for reason in {mark.reason for mark in held}
        )

    def has_ground(self, reason: str, held: tuple[Mark, ...], index: int, forgiven: str | None) -> bool:
        """Say whether a reason has its ground; what was voided and released by another is left out of account."""
        marks = [mark.nth for mark in held if mark.reason == reason and self.facts[mark.nth].record.id != forgiven]
        if not marks:
            return True
        newest = max(self.facts[mark].at for mark in marks)
        if reason == "recall":
            return self.remedied({self.facts[mark].get("recall") for mark in marks}, newest, index)
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

    def remedied(self, recalls: set[str | None], since: datetime, index: int) -> bool:
        """Say whether every recall held was acted on with a remedy, or found not to matter here."""
        done = [
            self.facts[i].get("recall")
            for i in self.back(index)
            if self.facts[i].kind == "recall-actioned"
            and self.facts[i].at > since
            and self.facts[i].get("result") in {"fixed", "not-affected"}
        ]
        return bool(done) and all(recall is None or recall in done for recall in recalls)

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

    # --- Hands and wearers

    def wearer(self, index: int) -> str | None:
        """Name who wore it, if the fact is a wearing."""
        fact = self.facts[index]
        if fact.echo or fact.kind not in WEARINGS:
            return None
        wearer = fact.get("wearer")
        return None if wearer is None else str(wearer)

    def purpose(self, index: int) -> str:
        """Name the purpose of a use: an emergency if it stood ready for one and nothing else is said."""
        fact = self.facts[index]
        if fact.get("purpose") is not None:
            return str(fact.get("purpose"))
        ready = self.placed(index).where == "stationed" or self.use(index, fact.at) in {"emergency", "escape"}
        return "emergency" if ready else "routine"

    @remembered
    def leaving(self, index: int) -> bool:
        """Say whether a fact takes the unit out of a hand."""
        fact = self.facts[index]
        if fact.kind == "issued":
            holder = self.placed(index).holder
            return holder is not None and holder != fact.get("holder")
        if fact.kind in {"missing", "retired"}:
            return True
        return self.puts(index) is not None

    def battery_swap(self, index: int) -> bool:
        """Say whether a fact changes the battery."""
        return self.facts[index].kind in SWAPS and self.role(index) == "battery"

    def battery_changed(self, index: int) -> bool:
        """Say whether a fact leaves another battery in the unit, by a swap or by a repair."""
        fact = self.facts[index]
        if fact.kind != "repaired":
            return self.battery_swap(index)
        positions = (self.model_of(index) or {}).get("positions") or []
        batteries = {found["position"] for found in positions if found["role"] == "battery"}
        return any(found["position"] in batteries for found in fact.get("parts") or [])

    def due_zone(self, n: int, day: Any) -> str:
        """Name the zone in which a due day ends."""
        return self.world.book.zone_on(self.site(n), day)

    def last_wearing(self, n: int) -> Message | None:
        """Give who wore it last, and when."""
        for index in self.back(n):
            person = self.wearer(index)
            if person is not None:
                return {"person": person, "at": clock.iso(self.facts[index].at)}
        return None
