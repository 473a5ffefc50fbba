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
def _every_third(monkeypatch: pytest.MonkeyPatch) -> None:
    """Mark after every third fact."""
    monkeypatch.setattr(marking, "EVERY", 3)


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


def places(story: KinStory) -> list[tuple[datetime, int]]:
    """Give the last instant and the number of facts before each mark."""
    return [(mark.snapshot.left[0].at, mark.snapshot.count) for mark in story.marks]


def at(minute: int) -> datetime:
    """Give the moment so many minutes after seven."""
    return moment("2026-03-02 07:00") + timedelta(minutes=minute)


def test_a_fold_is_marked_after_so_many_facts() -> None:
    """After three facts and after six, as the unit stood there; not after the last, which nothing follows."""
    story = told([washed(minute) for minute in range(9)])
    assert places(story) == [(at(2), 3), (at(5), 6)]
    assert story.snapshot is not None
    assert (story.snapshot.count, story.snapshot.marked) == (9, 6)
    assert [mark.snapshot.key[0] for mark in story.marks] == [at(2), at(5)]


@pytest.mark.parametrize("parts", [[1], [3], [4, 6], [1, 2, 3, 4, 5, 6, 7, 8]])
def test_it_is_marked_alike_however_it_goes_on(parts: list[int]) -> None:
    """Folded at once or bit by bit, the marks stand at the same places and hold the same."""
    posted = [washed(minute) for minute in range(9)]
    whole, bits = told(posted), told(posted, parts)
    assert [mark.snapshot for mark in bits.marks] == [mark.snapshot for mark in whole.marks]
    assert bits.snapshot == whole.snapshot


def test_a_mark_divides_instants() -> None:
    """Facts of one instant are before it or after it together."""
    story = told([washed(minute) for minute in (0, 1, 2, 2, 2, 3, 4)])
    assert places(story) == [(at(2), 5)]


def test_a_mark_parts_no_fact_from_its_echo() -> None:
    """Bad news that counts again at its receipt is before it with its echo."""
    alarm: dict[str, Any] = {"points": fails("alarm"), "received": at(6).isoformat(), "sent": at(30).isoformat()}
    late = tell("failed-check", at(1).isoformat(), **alarm)
    story = told([washed(0), late, *(washed(minute) for minute in (2, 3, 4, 7, 8, 9, 10))])
    assert places(story) == [(at(6), 6), (at(9), 9)]


def test_a_fold_goes_on_from_each_mark_to_the_same_end() -> None:
    """What follows a mark, folded from there, ends where the whole fold ends, with the same intervals."""
    posted = [NEW, *(washed(minute) for minute in range(9))]
    folding = Folding(log([*PLAIN, *posted]), [])
    rows = [row for row in folding.rows if getattr(row.event, "asset", None) == "A-1"]
    whole = fold_kin(rows, [], folding.world.fresh())
    for mark in whole.marks:
        rest = resume(mark.snapshot, rows[1 + mark.snapshot.count :], whole.tags, folding.world.fresh())
        assert rest is not None
        assert rest.snapshot == whole.snapshot
        assert rest.stories[0].intervals[-1] == whole.stories[0].intervals[-1]
