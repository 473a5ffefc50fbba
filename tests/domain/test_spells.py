"""From when to when a unit was under a recall."""

from typing import Any

import pytest

from service.domain.recall.asking import Answer
from service.domain.recall.impact import Meant, Sitting, State, Touched
from service.domain.recall.spells import Spell, spells
from service.domain.unit import Remedy, Unit
from tests.domain.units import at, unit

Piece = tuple[State, float, float | None]
"""The state of a piece, and the hours at which it came in and went."""


def told(
    opened: float | tuple[float, ...], *pieces: Piece, of: Unit | None = None, again: float | None = None
) -> list[tuple[Any, ...]]:
    """Give the spells, in hours after noon, of pieces under an opening, or under one each, perhaps asked for again."""
    sat = [
        Sitting("battery", at(since), None if until is None else at(until), certain=True, state=state)
        for state, since, until in pieces
    ]
    hours = (opened,) * len(pieces) if isinstance(opened, int | float) else opened
    said = [Answer(True, (), at(one), at(one if again is None else again)) for one in hours]
    touched = Touched(tuple(map(Meant, sat, said)), (), (), endless=False)
    return [hour(one) for one in spells(of or unit(), touched, "r-1")]


def hour(spell: Spell) -> tuple[Any, ...]:
    """Show a spell in hours after noon."""
    ends = (spell.since, spell.ended, spell.again)
    return tuple(None if one is None else (one - at(0)).total_seconds() / 3600 for one in ends)


def remedied(*hours: float, **fields: Any) -> Unit:
    """Make a unit that was put right at these hours."""
    return unit(fixed={"r-1": tuple(Remedy(at(one), at(one)) for one in hours)}, **fields)


@pytest.mark.parametrize(
    ("opened", "pieces", "found"),
    [
        (2, [("affected", 0, None)], [(2, None, None)]),
        (2, [("affected", 5, None)], [(5, None, None)]),
        (2, [("affected", 5, None), ("affected", 4, None)], [(4, None, None)]),
        ((6, 7), [("affected", 0, None), ("affected", 0, None)], [(6, None, None)]),
        (2, [("removed", 0, 5)], [(2, 5, None)]),
        (2, [("identified", 3, 5)], [(3, 5, None)]),
        (2, [("removed", 0, 1)], []),
        (2, [("removed", 0, 2)], []),
    ],
)
def test_a_spell_begins_with_the_opening_or_with_the_piece(opened: Any, pieces: list[Piece], found: list[Any]) -> None:
    """Whichever is later; what was over by the opening was never under it."""
    assert told(opened, *pieces) == found


@pytest.mark.parametrize(
    ("pieces", "found"),
    [
        ([("removed", 2, 5), ("removed", 5, 9)], [(2, 9, None)]),
        ([("removed", 2, 9), ("removed", 3, 5)], [(2, 9, None)]),
        ([("removed", 6, 9), ("removed", 2, 5)], [(2, 5, 6), (6, 9, None)]),
        ([("removed", 2, 3), ("removed", 4, 5), ("removed", 5, 7)], [(2, 3, 4), (4, 7, None)]),
    ],
)
def test_pieces_that_follow_at_once_are_one_spell(pieces: list[Piece], found: list[Any]) -> None:
    """After a gap another begins, and that ends what is done about the one before."""
    assert told(0, *pieces) == found


@pytest.mark.parametrize(
    ("pieces", "found"),
    [
        ([("removed", 2, 5), ("affected", 8, None)], [(2, 5, 8), (8, None, None)]),
        ([("removed", 2, 5), ("affected", 5, None)], [(2, 5, 5), (5, None, None)]),
        ([("removed", 2, 9), ("affected", 6, None)], [(2, 6, 6), (6, None, None)]),
        ([("removed", 4, 6), ("affected", 3, None)], [(3, None, None)]),
        ([("removed", 3, 6), ("affected", 3, None)], [(3, None, None)]),
    ],
)
def test_what_is_under_it_now_is_a_spell_of_its_own(pieces: list[Piece], found: list[Any]) -> None:
    """It begins with the first piece there now; an earlier spell ends there at the latest."""
    assert told(0, *pieces) == found


def test_what_was_dealt_with_ends_with_the_last_remedy() -> None:
    """A remedy must be later than the beginning, be it of either sort; one that was only let go never ended."""
    cleared: Piece = ("cleared", 3, None)
    assert told(0, cleared) == []
    assert told(0, cleared, of=remedied(7, 9, 2)) == [(3, 9, None)]
    assert told(0, cleared, of=remedied(3)) == []
    unaffected = unit(not_affected={"r-1": (Remedy(at(6), at(6)),), "r-2": (Remedy(at(8), at(8)),)})
    assert told(0, cleared, of=unaffected) == [(3, 6, None)]
    assert told(0, cleared, ("affected", 8, None), of=remedied(7)) == [(3, 7, 8), (8, None, None)]


def test_what_was_remedied_and_taken_out_later_was_dealt_with_by_the_remedy() -> None:
    """Fixed at seven and changed in its turn at nine: the spell ended at seven, unless it was asked for again since.

    A remedy before it came in, and one after it was taken out, were of other pieces.
    """
    removed: Piece = ("removed", 3, 9)
    assert told(0, removed, of=remedied(7)) == [(3, 7, None)]
    assert told(0, removed, of=remedied(7), again=8) == [(3, 9, None)]
    assert told(0, removed, of=remedied(2, 10)) == [(3, 9, None)]
    assert told(0, removed, ("affected", 9, None), of=remedied(7)) == [(3, 7, 9), (9, None, None)]


@pytest.mark.parametrize(
    ("by", "piece", "found"),
    [
        (3, ("cleared", 3, None), [(3, 24, None)]),
        (3.1, ("cleared", 3, None), [(3, 24, None)]),
        (2.9, ("cleared", 3, None), []),
        (2.9, ("removed", 3, 30), [(3, 30, None)]),
        (3, ("removed", 3, 30), [(3, 24, None)]),
        (3, ("removed", 3, 24), [(3, 24, None)]),
    ],
)
def test_a_remedy_of_a_day_is_of_what_was_in_as_that_began(by: float, piece: Piece, found: list[Any]) -> None:
    """It counts at the day's end; what came in on the day may have come after it."""
    one = unit(fixed={"r-1": (Remedy(at(24), at(by)),)})
    assert told(0, piece, of=one) == found


def test_a_remedy_of_the_instant_at_which_it_was_asked_for_again_is_of_what_was_asked_before() -> None:
    """A remedy must be later than the opening that it answers (R3)."""
    removed: Piece = ("removed", 3, 9)
    assert told(0, removed, of=remedied(8), again=8) == [(3, 9, None)]
    assert told(0, removed, of=remedied(8, 8.5), again=8) == [(3, 8.5, None)]


def test_a_remedy_that_cleared_something_else_ends_no_spell() -> None:
    """What is under it all the same, since it turned out to be another, is under it from the opening on."""
    assert told(2, ("affected", 0, None), of=remedied(5)) == [(2, None, None)]
    assert told(2, ("affected", 0, None), ("removed", 0, 1), of=remedied(5)) == [(2, None, None)]


@pytest.mark.parametrize(
    ("opened", "days", "found"),
    [
        (-30, [(12, -12, None)], [(12, -12)]),
        (3, [(12, -12, None)], [(12, 3)]),
        (-30, [(-20, -20, None), (12, -12, None)], [(-20, -20)]),
        (-30, [(10, 10, None), (12, -12, None)], [(10, -12)]),
        (-30, [(-20, -20, 12), (12, -12, None)], [(-20, -20), (12, -12)]),
        (-30, [(10, 10, 20), (12, -12, 36)], [(10, -12)]),
    ],
)
def test_what_came_in_on_a_day_alone_may_have_been_there_since_it_began(
    opened: float, days: list[tuple[float, float, float | None]], found: list[tuple[float, float]]
) -> None:
    """Not before the recall was opened; of pieces of one spell the one counts that may be there first."""
    said = Answer(True, (), at(opened), at(opened))
    sat = [
        Sitting("battery", at(since), None if until is None else at(until), certain=True,
                state="affected" if until is None else "removed") for since, _, until in days
    ]  # fmt: skip
    meant = (Meant(one, said, at(began)) for one, (_, began, _) in zip(sat, days, strict=True))
    touched = Touched(tuple(meant), (), (), endless=False)
    assert [(one.since, one.earliest) for one in spells(unit(), touched, "r-1")] == [
        (at(since), at(began)) for since, began in found
    ]


def test_what_is_done_counts_for_the_spell_it_is_done_in() -> None:
    """Afterwards too, up to the next; its own first moment is in it, that of the next is not."""
    first, last = Spell(at(2), at(2), at(5), at(8)), Spell(at(8), at(8), None)
    assert [first.holds(at(hours)) for hours in (1, 2, 6, 8, 9)] == [False, True, True, False, False]
    assert [last.holds(at(hours)) for hours in (7, 8, 99)] == [False, True, True]
