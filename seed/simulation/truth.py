"""The truth about the units: a plain model of its own of what the messages say, as their devices say it.

Readings, where more than one would be possible:

1. An event is where its device says, whatever that clock is off. Nothing happens at the same microsecond as anything
   else, so the order of the stamps decides all.
2. Bad news that `suspicion` doubts counts a second time, after all else: everything is received when the simulated time
   is over. The second time changes nothing but what is held against the unit. Asked as at a past day it is not there.
3. What is held against a unit is told of `do_not_use`: a reason of quarantine, or a recheck that is owed. Whatever else
   may forbid its use (an overdue duty, a use without check) is not part of this truth.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime

import msgspec

from seed.adverse import adverse
from seed.book import Message
from seed.models import Model
from seed.simulation.devices import Taken
from seed.simulation.suspicion import counts_again

NEVER = datetime.min.replace(tzinfo=UTC)
RECEIVED = datetime.max.replace(tzinfo=UTC)
"""Stands for the moments at which messages are received: they all come after everything that is told."""
TOO_MANY = 3
"""So many failures within a week withdraw a unit; a simulation is never longer than that (`scale`)."""
BY_REPAIR = frozenset({"failed", "damage"})


class Stands(msgspec.Struct, frozen=True):
    """How a unit stands: where, who has it, whether a reason is held against it, whether a recheck is owed."""

    phase: str
    site: str
    holder: str | None
    held: bool
    recheck: bool


class Fact(msgspec.Struct, frozen=True):
    """What a message says at the moment it says; `again` where it counts a second time."""

    at: datetime
    message: Message
    again: bool = False


class State(msgspec.Struct, eq=False):
    """What is known of a unit while its facts are gone through; `held` has each reason with its moments."""

    model: Model
    site: str
    place: str = "in-store"
    holder: str | None = None
    moving: bool = False
    held: dict[str, list[datetime]] = {}
    recheck: bool = False
    failing: set[str] = set()
    failures: set[str] = set()
    failed: datetime = NEVER
    examined: datetime = NEVER
    repaired: datetime = NEVER
    mended: datetime = NEVER

    def stands(self) -> Stands:
        """Say how the unit stands."""
        where = "in-transit" if self.moving else "quarantined" if self.held else self.place
        return Stands(where, self.site, self.holder, bool(self.held), self.recheck)

    def put(self, place: str, holder: str | None, site: object = None) -> None:
        """Believe where the unit is and who has it."""
        self.place, self.holder, self.moving = place, holder, False
        self.site = str(site or self.site)

    def hold(self, reason: str, at: datetime) -> None:
        """Hold a reason against the unit."""
        self.held.setdefault(reason, []).append(at)

    def has_ground(self, reason: str) -> bool:
        """Say whether a reason has its ground: an examination, of a failure also a repair and a check after it."""
        newest = max(self.held[reason])
        if reason not in BY_REPAIR:
            return self.examined > newest
        return max(self.examined, self.mended) > max(newest, self.failed)


def _registered(state: State, fact: Fact) -> None:
    state.site = str(fact.message["site"])


def _issued(state: State, fact: Fact) -> None:
    holder = fact.message["holder"]
    person = holder.get("person") if isinstance(holder, dict) else None
    state.put("issued", person, fact.message["site"])


def _put_in_store(state: State, fact: Fact) -> None:
    state.put("in-store", None, fact.message["site"])


def _moved(state: State, _: Fact) -> None:
    state.put("in-store", None)
    state.moving = True


def _checked(state: State, fact: Fact) -> None:
    """Let a check pass, or fail: twice running and three times in a week withdraw as a bad enough point does."""
    if not adverse(fact.message):
        state.recheck, state.failing = False, set()
        state.mended = max(state.mended, state.repaired)
        return
    event = str(fact.message["id"])
    state.failed = fact.at
    state.failing.add(event)
    state.failures.add(event)
    asks = {point.on_fail for point in state.model.points if _points(fact.message).get(point.point) == "fail"}
    state.recheck = state.recheck or "recheck" in asks
    if "withdraw" in asks or len(state.failing) > 1 or len(state.failures) >= TOO_MANY:
        state.hold("failed", fact.at)


def _examined(state: State, fact: Fact) -> None:
    if adverse(fact.message):
        state.failed = fact.at
        state.hold("failed", fact.at)
    else:
        state.examined = fact.at


def _repaired(state: State, fact: Fact) -> None:
    state.repaired = fact.at


def _quarantined(state: State, fact: Fact) -> None:
    if "place" in fact.message and not fact.again:
        state.place, state.holder = "in-store", None
    state.hold(str(fact.message["reason"]), fact.at)


def _released(state: State, _: Fact) -> None:
    if state.held and all(state.has_ground(reason) for reason in state.held):
        state.held = {}
        if not state.moving:
            state.put("in-store", None)


def _no_matter(_: State, __: Fact) -> None:
    """Change nothing that this truth tells."""


MEANS: Mapping[str, Callable[[State, Fact], None]] = {
    "registered": _registered,
    "issued": _issued,
    "returned": _put_in_store,
    "moved": _moved,
    "received": _put_in_store,
    "checked": _checked,
    "failed-check": _checked,
    "examined": _examined,
    "repaired": _repaired,
    "quarantined": _quarantined,
    "released": _released,
    "worn": _no_matter,
    "filter-replaced": _no_matter,
}
"""What each kind of message means for a unit."""


class Truth:
    """How every unit stands in the end, and how it stood at any moment before."""

    def __init__(self, every: Iterable[Taken], models: Iterable[Model]) -> None:
        self._models = {model.ref: model for model in models}
        self._facts: defaultdict[str, list[Fact]] = defaultdict(list)
        every = list(every)
        doubted = counts_again(every)
        for one in sorted(every, key=lambda one: one.stamp):
            self._facts[str(one.message["asset"])].append(Fact(one.stamp, one.message))
        for one in every:
            if one.id in doubted:
                self._facts[str(one.message["asset"])].append(Fact(RECEIVED, one.message, again=True))

    @property
    def tags(self) -> list[str]:
        """List the units."""
        return sorted(self._facts)

    def now(self, tag: str) -> Stands:
        """Say how a unit stands when all is told."""
        return self._told(tag, self._facts[tag])

    def at(self, tag: str, moment: datetime) -> Stands | None:
        """Say how a unit stood at a moment; None where it was not registered yet."""
        facts = [fact for fact in self._facts[tag] if fact.at <= moment and not fact.again]
        return self._told(tag, facts) if any(fact.message["kind"] == "registered" for fact in facts) else None

    def by_site(self, moment: datetime | None = None) -> dict[str, Counter[str]]:
        """Count the units of each site by phase, in the end or at a moment."""
        counted: defaultdict[str, Counter[str]] = defaultdict(Counter)
        for tag in self._facts:
            stands = self.now(tag) if moment is None else self.at(tag, moment)
            if stands is not None:
                counted[stands.site][stands.phase] += 1
        return dict(counted)

    def _told(self, tag: str, facts: Iterable[Fact]) -> Stands:
        born = next(fact.message for fact in self._facts[tag] if fact.message["kind"] == "registered")
        state = State(model=self._models[str(born["model"])], site=str(born["site"]))
        for fact in facts:
            MEANS[str(fact.message["kind"])](state, fact)
        return state.stands()


def _points(message: Message) -> Mapping[str, object]:
    points = message.get("points")
    return points if isinstance(points, dict) else {}
