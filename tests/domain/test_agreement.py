"""The fold against the oracle on random histories.

TEST_HISTORIES is how many (40 where it is not set), TEST_HISTORIES_FROM the first seed: a long run is
`TEST_HISTORIES=3000 TEST_HISTORIES_FROM=100000 pytest tests/domain/test_agreement.py`.
"""

import os
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.domain.comparing import differences
from tests.oracle.histories import History, histories, random_history

pytestmark = pytest.mark.no_cover
"""Thousands of cases go the same ways again and again: counting each line of them is most of their time."""

FIRST = int(os.environ.get("TEST_HISTORIES_FROM", "0"))
SEEDS = range(FIRST, FIRST + int(os.environ.get("TEST_HISTORIES", "40")))
APART = (50206,)
"""Seeds that once told them apart: a day's wearing without an hour ends as the next working day's use begins."""


@pytest.mark.parametrize("seed", [*SEEDS, *APART])
def test_fold_and_oracle_agree(seed: int) -> None:
    """At any moment, as known at any other, both show the same units, intervals, uses and conflicts."""
    random = Random(seed)  # noqa: S311 -- guards nothing
    assert differences(random_history(seed, 20 + seed % 100), random) == []


@given(histories(25), st.randoms(use_true_random=False))
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_fold_and_oracle_agree_on_small_histories(history: History, random: Random) -> None:
    """They agree on small histories too, which shrink to what they differ about."""
    assert differences(history, random, moments=3) == []
