"""The outcome of a simulation: what was sent, how it was answered, what was verified, and what differs."""

from collections.abc import Iterator, Sequence
from statistics import median

import msgspec

from seed.simulation.checks.asking import Found
from seed.simulation.journal import MOST_NAMED, Journal
from seed.simulation.story import Story

COUNTED = ("repeated", "waited", "hung up", "lost", "asked to come back")
SHARES = (0.5, 0.95, 0.99)


class Answers(msgspec.Struct, frozen=True):
    """How long answers took, in milliseconds."""

    p50: float
    p95: float
    p99: float


class Outcome(msgspec.Struct, frozen=True, kw_only=True):
    """All of it. Seconds and milliseconds are measured; how late messages came is in hours of simulated time.

    `counts` has the repeats, the answers that a message waits, the requests hung up on before the answer or lost
    otherwise, and those asked to come back. `differences` names those that there are, up to a thousand.
    """

    sites: int
    assets: int
    days: int
    seed: int
    faults: tuple[str, ...]
    events: int
    requests: int
    statuses: dict[int, int]
    counts: dict[str, int]
    late_hours: tuple[float, float]
    seconds: float
    events_a_second: float
    posts: Answers
    asks: Answers
    verified: dict[str, int]
    differing: int
    differences: tuple[str, ...]


def outcome(story: Story, journal: Journal, seconds: float, found: Sequence[Found]) -> Outcome:
    """Sum up what came of a story; `seconds` is how long it took to send."""
    scale, kept = story.scale, story.rounds.kept
    differences = [*journal.differences, *(one for check in found for one in check.differences)]
    differing = journal.counts["differences"] + sum(len(check.differences) for check in found)
    return Outcome(
        sites=scale.sites,
        assets=scale.assets,
        days=scale.days,
        seed=scale.seed,
        faults=tuple(sorted(scale.faults)),
        events=len(journal.acknowledged),
        requests=journal.counts["requests"] + journal.counts["hung up"],
        statuses=dict(sorted(journal.statuses.items())),
        counts={name: journal.counts[name] for name in COUNTED},
        late_hours=(round(median(kept) / 3600, 1), round(max(kept) / 3600, 1)),
        seconds=round(seconds, 1),
        events_a_second=round(len(journal.acknowledged) / seconds, 1),
        posts=_answers(journal.posts),
        asks=_answers(journal.asks),
        verified={check.what: check.count for check in found},
        differing=differing,
        differences=tuple(differences[:MOST_NAMED]),
    )


def _answers(seconds: Sequence[float]) -> Answers:
    """Give the shares that were answered by so many milliseconds: the least that so many did not exceed."""
    ordered = sorted(seconds)
    return Answers(*(round(1000 * ordered[max(0, -int(-share * len(ordered) // 1) - 1)], 1) for share in SHARES))


def rows(told: Outcome) -> Iterator[tuple[str, str]]:
    """Give the outcome as rows of a table: what it is, and how much."""
    yield "sites, units, whole days, seed", f"{told.sites:,}, {told.assets:,}, {told.days}, {told.seed}"
    yield "faults", ", ".join(told.faults) or "none"
    yield "events", f"{told.events:,}"
    yield "requests", f"{told.requests:,}"
    yield "answers to posts by status", ", ".join(f"{count:,} of {status}" for status, count in told.statuses.items())
    for name, count in told.counts.items():
        yield name, f"{count:,}"
    half, most = told.late_hours
    yield "late by, in simulated time", f"half of them {half} h, at most {most} h"
    yield "seconds to post", f"{told.seconds:,}"
    yield "events a second", f"{told.events_a_second:,}"
    for name, answers in (("posts", told.posts), ("questions", told.asks)):
        yield f"answers to {name}, ms", f"p50 {answers.p50:,}, p95 {answers.p95:,}, p99 {answers.p99:,}"
    for what, count in told.verified.items():
        yield f"verified: {what}", f"{count:,}"
    yield "differences", f"{told.differing:,}"
