"""Where a component sits, one unit after the other, and where it may be by a day alone."""

from service.domain.lodging import Lodging, in_turn, lodged, outermost, through
from tests.domain.units import at


def sat(since: float, until: float, host: str, day: float | None = None) -> Lodging[str]:
    """Have a component in a unit, at the earliest since a day began."""
    return Lodging(at(since), at(until), host, at(since if day is None else day))


def test_it_may_leave_as_the_day_begins_on_which_it_is_told_elsewhere() -> None:
    """Until then it is where it was; on that day where it was said to be last."""
    every = [sat(0, 36, "A-1"), sat(36, 99, "A-2", day=12)]
    assert [*in_turn(every)] == [sat(0, 12, "A-1"), sat(36, 99, "A-2", day=12)]
    found = [lodged(every, at(hours)) for hours in (-1, 0, 11, 12, 35, 98, 99)]
    assert [one and one.host for one in found] == [None, "A-1", "A-1", "A-2", "A-2", "A-2", None]


def test_a_moment_of_the_day_is_believed_before_the_day() -> None:
    """Put in somewhere at a moment it was nowhere else before; from then on the day's word counts."""
    every = [sat(0, 20, "A-1"), sat(20, 36, "A-2"), sat(36, 99, "A-3", day=12)]
    assert [(one.host, one.day, one.until) for one in in_turn(every)] == [
        ("A-1", at(0), at(20)),
        ("A-2", at(20), at(20)),
        ("A-3", at(20), at(99)),
    ]
    assert [one.host for hours in (13, 20, 40) if (one := lodged(every, at(hours)))] == ["A-1", "A-3", "A-3"]


def test_what_never_sat_anywhere_is_nowhere() -> None:
    """Of nothing nothing is told."""
    assert (lodged([], at(0)), [*in_turn(list[Lodging[str]]())]) == (None, [])


def test_it_sat_in_whatever_holds_what_it_sits_in() -> None:
    """As long as both did; at last it sat in the outermost, and in the inner one while nothing held that."""
    held = {"B": [sat(0, 50, "C")], "C": [sat(10, 20, "A-1"), sat(30, 60, "A-2", day=24)]}
    assert through("B", held) == [sat(0, 50, "C"), sat(10, 20, "A-1"), sat(30, 50, "A-2", day=24)]
    assert [*outermost("B", held)] == [
        sat(0, 10, "C"),
        sat(10, 20, "A-1"),
        sat(20, 24, "C"),
        sat(30, 50, "A-2", day=24),
    ]


def test_what_sits_in_each_other_is_told_once_and_soon() -> None:
    """Of a dozen that each sat in each other nobody walks every way, and none sits in itself."""
    names = [f"C-{nth}" for nth in range(12)]
    held = {name: [sat(nth, 99, other) for nth, other in enumerate(names) if other != name] for name in names}
    assert {one.host for one in through("C-0", held)} == set(names[1:])
    assert all(one.host != "C-0" for one in outermost("C-0", held))
