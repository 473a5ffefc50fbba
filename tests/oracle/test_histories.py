import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.oracle.asking import WORST
from tests.oracle.conflict import conflicts
from tests.oracle.histories import START, History, histories, random_history
from tests.oracle.record import Record
from tests.oracle.span import intervals
from tests.oracle.summary import PHASES, summary
from tests.oracle.view import judge, views
from tests.oracle.world import World

SEEDS = range(140)
CODES = {
    "not-received", "unit-of-another-site", "serial-known",
    "not-ready-to-issue", "own-adverse-event", "self-granted-competence",
    "worn-while-quarantined", "worn-while-missing", "worn-while-at-service", "worn-while-retired",
    "issued-while-quarantined", "issued-while-missing", "issued-while-at-service", "issued-while-retired",
    "checked-while-retired", "released-without-ground", "returned-without-holder", "received-without-move",
    "while-retired", "before-registration", "unknown-competence", "not-under-recall",
}  # fmt: skip
REASONS = {
    "thorough-examination", "used-without-check", "function-check-owed", "no-evidence", "withdrawal", "recheck",
    "unresolved-report", "cleaning-owed", "expired", "service-limit", "loading", "no-schedule", "charge-low",
    "charge-unknown", "capacity-low", "unlisted-part", "missing-part", "missing", "at-service", "retired", "recall",
}  # fmt: skip
KINDS = {
    "registered", "retagged", "use-set", "issued", "returned", "stationed", "moved", "received", "sent-to-service",
    "worn", "checked", "failed-check", "failed-in-use", "examined", "filter-replaced", "part-replaced",
    "part-identified",
    "cleaned", "repaired", "quarantined", "released", "missing", "found", "recall-actioned", "retired", "trained",
    "fit-tested", "medically-cleared", "assigned", "authorisation-ended", "stock-received", "stock-counted",
    "stock-discarded", "stock-moved", "reorder-approved", "order-placed", "order-cancelled", "recall-opened",
    "recall-closed", "exception-acknowledged", "site-defined", "model-defined", "item-defined", "task-defined",
    "policy-set", "instrument-defined", "voided",
}  # fmt: skip


@pytest.fixture(scope="module")
def seen() -> Counter[str]:
    """Count what occurs in the histories of many seeds, each asked at eight moments."""
    counts: Counter[str] = Counter()
    for seed in SEEDS:
        history = random_history(seed, 120)
        counts.update(record.kind for record in history.records)
        counts.update(words(history))
        counts.update(in_doubt(history))
        counts.update(code for codes in conflicts(history.records, history.reports).values() for code in codes)
    return counts


def words(history: History) -> Iterator[str]:
    """Walk the phases, standings and reasons of a history's units."""
    world = World(history.records, history.reports, None)
    for part in reversed(range(8)):
        for unit in views(world, START + timedelta(days=5 * part)).values():
            yield from (unit["phase"], unit["standing"], *unit["reasons"])


def in_doubt(history: History) -> Iterator[str]:
    """Walk the units of which it is in doubt what their model lists."""
    world = World(history.records, history.reports, None)
    for story in world.stories.values():
        models = story.models(len(story.facts))
        yield "of one model" if len(models) == 1 else "of several models"
        yield from ("of no version" for model in models if world.book.first("model", model) is None)


def test_models_are_in_doubt(seen: Counter[str]) -> None:
    """Units are registered again as another model of their maker, and models lose the only version they had."""
    assert min(seen["of one model"], seen["of several models"], seen["of no version"]) > 20


def test_every_phase_is_reached(seen: Counter[str]) -> None:
    """Every state of the phase machine is reached by the random histories."""
    assert {phase for phase in (*PHASES, "retired") if not seen[phase]} == set()


def test_every_standing_is_reached(seen: Counter[str]) -> None:
    """Every standing is reached."""
    assert {standing for standing in WORST if not seen[standing]} == set()


def test_every_reason_speaks(seen: Counter[str]) -> None:
    """Every reason of the closed list is given."""
    assert {reason for reason in REASONS if not seen[reason]} == set()


def test_every_kind_is_posted(seen: Counter[str]) -> None:
    """Every kind of event is posted."""
    assert {kind for kind in KINDS if not seen[kind]} == set()


def test_every_conflict_happens(seen: Counter[str]) -> None:
    """Every conflict code of the closed list is reported."""
    assert {code for code in CODES if not seen[code]} == set()


def test_a_seed_tells_the_same_history_again() -> None:
    """The history of a seed is always the same."""
    assert random_history(7, 50) == random_history(7, 50)


def renumbered(records: list[Record], random: Random) -> list[Record]:
    """Record the same messages in another order that keeps each voiding after what it names."""
    voided = [record for record in records if record.kind == "voided"]
    others = [record for record in records if record.kind != "voided"]
    random.shuffle(others)
    return [replace(record, seq=seq) for seq, record in enumerate([*others, *voided], 1)]


@given(histories(), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_order_of_recording_means_nothing(history: History, order: Random) -> None:
    """The order in which messages were recorded changes no answer (ruling 39)."""
    at = START + timedelta(days=20)
    again = renumbered(history.records, order)
    assert judge(again, history.reports, at) == judge(history.records, history.reports, at)
    assert conflicts(again, history.reports) == conflicts(history.records, history.reports)


@given(histories())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_what_was_known_is_what_had_been_recorded(history: History) -> None:
    """Asked as known at a moment, the answer is that of the log cut off there (design 3.9)."""
    at = START + timedelta(days=20)
    cut = history.records[: len(history.records) * 2 // 3]
    assert judge(history.records, [], at, cut[-1].recorded_at) == judge(cut, [], at)


@given(histories())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_standing_and_scope_agree(history: History) -> None:
    """A unit is out of scope exactly when not in the rate, and barred exactly when something is said against it."""
    for unit in judge(history.records, history.reports, START + timedelta(days=15)).values():
        assert (unit["standing"] == "out-of-scope") == (not unit["in_scope"])
        assert unit["do_not_use"] == bool(unit["reasons"])
        assert (unit["put_away"] is not None) <= (unit["phase"] == "quarantined")


@pytest.mark.parametrize("seed", range(5))
def test_intervals_say_what_the_moment_says(seed: int) -> None:
    """At any moment the interval that holds it says what is said of that moment."""
    history, random = random_history(seed, 90), Random(seed)  # noqa: S311 - guards nothing
    start, end = START, START + timedelta(days=60)
    at = start + (end - start) * random.random()
    for tag, unit in judge(history.records, history.reports, at).items():
        if "~" in tag:
            continue
        told = intervals(history.records, history.reports, tag, start, at + timedelta(seconds=1))
        assert told[-1][2:] == (unit["standing"], unit["do_not_use"], unit["phase"], unit["in_scope"])
        assert all(left[1] == right[0] and left[2:] != right[2:] for left, right in itertools.pairwise(told))


@pytest.mark.parametrize("seed", range(5))
def test_the_summary_counts_what_is_shown(seed: int) -> None:
    """The summary counts the units as they are shown one by one, without retired units and components."""
    history = random_history(seed, 90)
    at = START + timedelta(days=15)
    shown = [
        unit
        for tag, unit in judge(history.records, history.reports, at).items()
        if unit["phase"] != "retired" and unit["model"] != "pack"
    ]
    total = summary(history.records, history.reports, at)["total"]
    assert total["units"] == len(shown)
    assert total["in_scope"] == sum(unit["in_scope"] for unit in shown)
    assert {name: count for name, count in total["by_phase"].items() if count} == Counter(
        unit["phase"] for unit in shown
    )
    assert {name: count for name, count in total["by_standing"].items() if count} == Counter(
        unit["standing"] for unit in shown
    )
