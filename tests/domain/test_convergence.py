"""Convergence (R39): what is known, and when each message was first received, decides; not the order it came in."""

from random import Random

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.fold import Story
from tests.domain.folding import Folding, Unit
from tests.oracle.histories import History, accepted, histories, random_history
from tests.oracle.posting import Posted

pytestmark = pytest.mark.no_cover
"""Thousands of cases go the same ways again and again: counting each line of them is most of their time."""

ENCODER = msgspec.msgpack.Encoder(order="deterministic")


def state(folding: Folding) -> tuple[dict[Unit, Story], bytes]:
    """Give all that a fold says, and its bytes."""
    stories = folding.stories()
    conflicts = sorted(folding.conflicts().items())
    return stories, ENCODER.encode([[list(unit), story] for unit, story in sorted(stories.items())] + [conflicts])


def arrived(history: History, random: Random) -> History:
    """Let the same messages arrive in another order, some of them twice; each keeps the time of its first receipt."""
    first: dict[str, Posted] = {}
    for one in history.posted:
        first.setdefault(one.message["id"], one)
    again = [*first.values(), *random.sample(list(first.values()), len(first) // 4)]
    random.shuffle(again)
    return History(again, history.reports)


@pytest.mark.parametrize("seed", range(40))
def test_any_order_of_arrival_says_the_same(seed: int) -> None:
    """However the messages of a history arrive, and how often, state, intervals, uses and conflicts are the same."""
    history, random = random_history(seed, 80), Random(seed)  # noqa: S311 -- guards nothing
    stories, told = state(Folding(history.records, history.reports))
    for _ in range(3):
        again = arrived(history, random)
        assert len(again.records) == len(history.records)
        after, retold = state(Folding(again.records, again.reports))
        assert after == stories
        assert retold == told


@given(histories(40), st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_order_of_arrival_of_any_history_says_the_same(history: History, random: Random) -> None:
    """Order of arrival and repetition mean nothing, for any history."""
    again = arrived(history, random)
    assert state(Folding(accepted(again.posted), again.reports)) == state(Folding(history.records, history.reports))


@given(histories(40))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_rows_in_any_order_fold_the_same(history: History) -> None:
    """The order in which rows are read from the log means nothing either."""
    folding = Folding(history.records, history.reports)
    backwards = Folding(history.records[::-1], history.reports)
    assert state(backwards) == state(folding)
