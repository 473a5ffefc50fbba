from collections import Counter

import pytest

from service.domain.conflict import CODES
from service.domain.kinds import KINDS
from service.domain.standing import REASONS, SCALE
from service.domain.unit import PHASES
from tests.domain.folding import Folding
from tests.oracle.histories import random_history

SEEDS = range(120)


@pytest.fixture(scope="module")
def seen() -> dict[str, Counter[str]]:
    """Count what the fold says of the histories of many seeds."""
    found: dict[str, Counter[str]] = {name: Counter() for name in ("kind", "phase", "standing", "reason", "code")}
    for seed in SEEDS:
        history = random_history(seed, 100)
        folding = Folding(history.records, history.reports)
        found["kind"].update(record.kind for record in history.records)
        found["code"].update(code for codes in folding.conflicts().values() for code in codes)
        for story in folding.stories().values():
            found["phase"].update(one.phase for one in story.intervals)
            found["standing"].update(one.standing for one in story.intervals)
            found["reason"].update(reason for one in story.intervals for reason in one.reasons)
    return found


OF_NO_HISTORY = {
    *("no-such-row", "unknown-recall", "units-outstanding", "reason-without-unit", "reason-given-twice"),
    "rehearsal-left-out",
    *("approval-without-authority", "order-without-approval", "unknown-proposal", "unknown-order"),
}
"""Codes of what is said of reports, recalls and proposals, which is held against them as it is recorded."""


@pytest.mark.parametrize(
    ("name", "every"),
    [
        ("kind", {kind.kind for kind in KINDS}),
        ("phase", set(PHASES)),
        ("standing", set(SCALE)),
        ("reason", set(REASONS)),
        ("code", set(CODES) - OF_NO_HISTORY),
    ],
)
def test_every_word_is_reached_and_no_other_is_said(seen: dict[str, Counter[str]], name: str, every: set[str]) -> None:
    """Random histories reach every kind, phase, standing, reason and conflict of the closed lists, and nothing else."""
    assert set(seen[name]) == every
