"""Random histories, plausible and hostile: late, doubled, out of order, date-only, with wrong clocks and wrong acts.

`random_history(seed, n)` is the same for the same seed. `histories()` is the hypothesis strategy, which shrinks.
"""

import copy
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cached_property
from random import Random
from typing import Any

from hypothesis import strategies as st

from tests.oracle import acts
from tests.oracle.noise import noise
from tests.oracle.people_acts import person_act, reference_act
from tests.oracle.posting import Posted
from tests.oracle.recall_acts import let_go, recall_act, rule_out
from tests.oracle.record import Record, Report

START = datetime(2026, 1, 5, 6, tzinfo=UTC)
KEYS = {
    "office": ("administrator", None),
    "desk": ("manager", None),
    "lead": ("site-lead", frozenset({"dock", "works"})),
    "kiosk-1": ("site-app", None),
    "kiosk-2": ("site-app", None),
}
DEVICES = ("kiosk-1", "kiosk-2")
DELAYS = (-3, 1, 1, 1, 2, 3, 5, 20, 59, 61, 240, 1440, 12_000, 43_000)
SKEWS = (0, 0, 0, 0, 1, -4, 6, -7, 90, -3000)


@dataclass
class Plot:
    """What the teller knows while making up a history: the time, the units' tags, and what was posted."""

    random: Random
    now: datetime = START
    tags: list[str] = field(default_factory=list)
    posted: list[Posted] = field(default_factory=list)
    counters: dict[str, int] = field(default_factory=dict)
    serials: dict[str, tuple[str, str]] = field(default_factory=dict)

    def pick(self, *choices: Any) -> Any:
        """Pick one."""
        return choices[self.random.randrange(len(choices))]

    def chance(self, percent: int) -> bool:
        """Happen in so many cases of a hundred."""
        return self.random.randrange(100) < percent

    def number(self) -> int:
        """Give the number of the next message."""
        return len(self.posted) + 1


@dataclass(frozen=True)
class History:
    """Messages in the order in which they are posted, doubled ones included, and reports that could not be accepted."""

    posted: list[Posted]
    reports: list[Report]

    @cached_property
    def records(self) -> list[Record]:
        """Give the log that results: each id once, what waits for another message after that."""
        return accepted(self.posted)


def tell(random: Random, n: int) -> History:
    """Make up a history of about `n` messages besides the set-up of the firm."""
    plot = Plot(random)
    plot.now += timedelta(days=plot.pick(0, 0, 0, 0, 57, 280))
    for number in range(1, 4 + random.randrange(3)):
        acts.register(plot, f"U-{number}")
    acts.component(plot)
    while len(plot.posted) < n:
        plot.now += timedelta(minutes=plot.pick(0, 1, 10, 30, 60, 240, 480, 720, 1440))
        act = chosen(plot)
        act(plot)
    told = [*set_up(plot), *(deliver(plot, one) for one in plot.posted)]
    doubled = [replace(one, received_at=one.received_at + timedelta(hours=3)) for one in told if plot.chance(3)]
    ordered = sorted([*told, *doubled], key=lambda one: one.received_at)
    return History(ordered, reports(plot))


def chosen(plot: Plot) -> Callable[[Plot], None]:
    """Choose what happens next."""
    roll = plot.random.randrange(100)
    if roll < 4:
        return person_act
    if roll < 8:
        return reference_act
    if roll < 14:
        return noise
    if roll < 17:
        return recall_act
    return end_recall if roll < 20 else acts.unit_act


def end_recall(plot: Plot) -> None:
    """Let one of the units go: on the voiding of a recall, or since it turns out to be under none."""
    plot.pick(let_go, rule_out)(plot, plot.pick(*plot.tags))


def set_up(plot: Plot) -> list[Posted]:
    """Give the firm's set-up with ids of its own."""
    base = acts.SET_UP[:]
    if plot.chance(50):
        base = [*base, acts.WORN_ONLY]
    return [replace(one, message={"id": acts.set_up_id(number), **one.message}) for number, one in enumerate(base, 1)]


def deliver(plot: Plot, one: Posted) -> Posted:
    """Deliver a message: late or at once, with a right, a wrong or no clock, with a time or only a date."""
    message = copy.deepcopy(one.message)
    stamp = datetime.fromisoformat(message["occurred_at"])
    delay = timedelta(minutes=plot.pick(*DELAYS), seconds=plot.random.randrange(60))
    received = stamp + delay
    if plot.chance(6) and "until" not in message:
        del message["occurred_at"]
        message["occurred_on"] = stamp.date().isoformat()
    sent = received - timedelta(minutes=plot.pick(*SKEWS)) if plot.chance(70) else None
    device = plot.pick(*DEVICES) if plot.chance(40) and message["kind"] != "model-defined" else None
    if device:
        plot.counters[device] = plot.counters.get(device, 0) + 1
        message |= {"device": device, "device_seq": plot.counters[device]}
        if plot.chance(5):
            message["device_seq"] += plot.pick(2, 40)
    return replace(one, message=message, received_at=received, sent_at=sent, imported=plot.chance(4) and one.imported)


def reports(plot: Plot) -> list[Report]:
    """Make up a few reports of failures that could not be accepted."""
    span = max(int((plot.now - START).total_seconds()), 1)
    found = []
    for _ in range(plot.pick(0, 0, 1, 2)):
        at = START + timedelta(seconds=plot.random.randrange(span))
        settled = at + timedelta(hours=plot.pick(1, 30, 500)) if plot.chance(60) else None
        found.append(Report(plot.pick(*plot.tags, "U-0"), at, settled))
    return found


def accepted(posted: list[Posted]) -> list[Record]:
    """Accept messages in the order posted: an id once, and what names something unknown once that is there."""
    records: list[Record] = []
    waiting: list[Posted] = []
    known: set[str] = set()
    for one in posted:
        waiting.append(one)
        moved = True
        while moved:
            moved = False
            for candidate in list(waiting):
                if not wanted(candidate) <= known:
                    continue
                waiting.remove(candidate)
                moved = True
                if candidate.message["id"] not in known:
                    records.append(record(candidate, len(records) + 1, one.received_at, records))
                    known |= {candidate.message["id"], *supplied(candidate)}
    return records


def record(one: Posted, seq: int, now: datetime, before: list[Record]) -> Record:
    """Record a message at a moment, later than all before."""
    recorded = max(now, before[-1].recorded_at + timedelta(microseconds=1)) if before else now
    role, sites = KEYS[one.key]
    return Record(one.message, seq, one.received_at, recorded, one.sent_at, one.key, one.imported, role, sites)


def supplied(one: Posted) -> set[str]:
    """Name what a message makes known."""
    message = one.message
    if message["kind"] == "registered":
        return {f"asset {message['asset']}"}
    if message["kind"] == "retagged":
        return {f"asset {message['new_tag']}"}
    names = {"site-defined": "site", "model-defined": "model"}
    name = names.get(message["kind"])
    return {f"{name} {message[name]}"} if name else set()


def wanted(one: Posted) -> set[str]:
    """Name what a message needs to be known: its asset, model, sites, and the event it voids."""
    message = one.message
    kind = message["kind"]
    found = {message["event"]} if kind == "voided" else set()
    if kind != "registered" and "asset" in message:
        found.add(f"asset {message['asset']}")
    if kind == "registered":
        found.add(f"model {message['model']}")
    if kind != "site-defined":
        found |= {f"site {message[name]}" for name in ("site", "to_site") if name in message}
    return found


def random_history(seed: int, n: int) -> History:
    """Make up the history of a seed."""
    return tell(Random(seed), n)  # noqa: S311 - guards nothing


def histories(most: int = 60) -> st.SearchStrategy[History]:
    """Draw histories that hypothesis can shrink."""
    return st.builds(tell, st.randoms(use_true_random=False), st.integers(min_value=5, max_value=most))
