"""Where a fold is marked, and that nothing but the facts decides it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest

from service.domain import marking
from service.domain.kin import KinStory, fold_kin, resume
from service.domain.snapshot import Mark
from tests.domain.folding import Folding
from tests.oracle.firm import PLAIN, fails, tell
from tests.oracle.posting import Posted, log, moment, say

NEW = say("registered", "2026-03-02 06:00", "m-1", asset="A-1", model="hood", serial="S-1", site="dock")


@pytest.fixture(autouse=True)
def _at_threes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Choose the facts of every third minute."""
    monkeypatch.setattr(marking, "chosen", lambda fact: fact.at.minute % 3 == 0)


def washed(minute: int) -> Posted:
    """Clean the unit so many minutes after seven."""
    at = moment("2026-03-02 07:00") + timedelta(minutes=minute)
    return tell("cleaned", at.isoformat(), scope="unit", method="wiped")


def told(posted: Sequence[Posted], parts: Sequence[int] = ()) -> KinStory:
    """Fold the unit from its beginning, or on after each of these numbers of facts; its marks are those of all."""
    folding = Folding(log([*PLAIN, NEW, *posted]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    cuts = [*(1 + part for part in parts), len(rows)]
    story = fold_kin(rows[: cuts[0]], [], folding.world.fresh())
    marks: tuple[Mark, ...] = story.marks
    for begin, end in pairwise(cuts):
        assert story.snapshot is not None
        more = resume(story.snapshot, rows[begin:end], story.tags, folding.world.fresh())
        assert more is not None
        story, marks = more, (*marks, *more.marks)
    return KinStory(story.stories, (), story.tags, story.snapshot, resumed=False, marks=marks)


def places(story: KinStory) -> list[datetime]:
    """Give the last instant before each mark."""
    return [mark.snapshot.left[0].at for mark in story.marks]


def at(minute: int) -> datetime:
    """Give the moment so many minutes after seven."""
    return moment("2026-03-02 07:00") + timedelta(minutes=minute)


def test_a_fold_is_marked_before_the_facts_chosen() -> None:
    """The unit is kept as it stood just before them."""
    story = told([washed(minute) for minute in range(8)])
    assert places(story) == [moment("2026-03-02 06:00"), at(2), at(5)]
    assert [mark.snapshot.key[0] for mark in story.marks] == places(story)


@pytest.mark.parametrize("parts", [[1], [3], [4, 6], [1, 2, 3, 4, 5, 6, 7, 8]])
def test_it_is_marked_alike_however_it_goes_on(parts: list[int]) -> None:
    """Folded at once or bit by bit, the marks stand at the same places and hold the same."""
    posted = [washed(minute) for minute in range(9)]
    whole, bits = told(posted), told(posted, parts)
    assert [mark.snapshot for mark in bits.marks] == [mark.snapshot for mark in whole.marks]
    assert bits.snapshot == whole.snapshot


def test_a_mark_divides_instants() -> None:
    """Facts of one instant are before it or after it together."""
    story = told([washed(minute) for minute in (1, 2, 3, 3, 3, 4)])
    assert places(story) == [at(2)]


def test_a_mark_parts_no_fact_from_its_echo() -> None:
    """Bad news that counts again at its receipt is before it with its echo."""
    alarm: dict[str, Any] = {"points": fails("alarm"), "received": at(6).isoformat(), "sent": at(30).isoformat()}
    late = tell("failed-check", at(1).isoformat(), **alarm)
    story = told([late, *(washed(minute) for minute in (2, 3, 4, 7, 8, 9, 10))])
    assert places(story) == [at(8)]


def test_a_mark_parts_no_fact_from_its_receipt_before_it() -> None:
    """Bad news that was received before its moment is before a mark with both, and leaves those before it alone."""
    ahead = tell("failed-check", at(7).isoformat(), points=fails("alarm"), received=at(5).isoformat())
    story = told([*(washed(minute) for minute in (2, 3, 4)), ahead, *(washed(minute) for minute in (6, 8, 9, 10))])
    assert places(story) == [at(2), at(8)]


def test_a_fold_goes_on_from_each_mark_to_the_same_end() -> None:
    """What follows a mark, folded from there, ends where the whole fold ends, with the same intervals."""
    posted = [NEW, *(washed(minute) for minute in range(9))]
    folding = Folding(log([*PLAIN, *posted]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    whole = fold_kin(rows, [], folding.world.fresh())
    assert [mark.snapshot.key[0] for mark in whole.marks] == [moment("2026-03-02 06:00"), at(2), at(5)]
    for mark, folded in zip(whole.marks, (1, 4, 7), strict=True):
        rest = resume(mark.snapshot, rows[folded:], whole.tags, folding.world.fresh())
        assert rest is not None
        assert rest.snapshot == whole.snapshot
        assert rest.stories[0].intervals[-1] == whole.stories[0].intervals[-1]
