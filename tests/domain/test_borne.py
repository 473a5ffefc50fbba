"""A component with those who had and wore the units that it sat in."""

from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.holder import Holder
from service.domain.lodging import Lodging
from service.domain.part import Part
from service.domain.recall.borne import borne
from service.domain.recall.exposure import hands
from service.domain.recall.impact import Life
from service.domain.recall.spans import Span, Spans
from service.domain.recall.wearings import Wearing
from service.domain.standing import FOREVER
from service.domain.stays import Stay
from service.domain.wearing import Use
from tests.domain.units import at, event, unit

NOW = at(20)


def hand(since: float, until: float | None, person: str | None = "p-1", day: float | None = None) -> Stay:
    """Have a unit in a hand, or in nobody's."""
    ends, began = FOREVER if until is None else at(until), None if day is None else at(day)
    holder = None if person is None else Holder(person=person)
    return Stay(None, at(since), at(since), ends, holder=holder, day=began, site="dock")


def worn(since: float, until: float | None = None, person: str = "p-1", **fields: Any) -> Use:
    """Wear a unit."""
    given: dict[str, Any] = {"worn": True, "until": None if until is None else at(until)} | fields
    if "day" in given:
        given["day"] = at(given["day"])
    return Use(at(since), "dock", None, event(1), person, **given)


def life(*stays: Stay, uses: tuple[Use, ...] = ()) -> Life:
    """Make the life of a unit."""
    return Life(unit(), {}, NOW, stays, uses)


def sat(since: float, until: float | None, host: Life, day: float | None = None) -> Lodging[Life]:
    """Have a component in a unit, at the earliest since a day began."""
    return Lodging(at(since), FOREVER if until is None else at(until), host, at(since if day is None else day))


def hours(one: Wearing) -> list[float | None]:
    """Show when a wearing counts, until when it was said to, and within what it may have been, in hours after noon."""
    ends = (one.at, one.until, one.since, one.ends)
    return [None if end is None else (end - at(0)).total_seconds() / 3600 for end in ends]


def carried(*uses: Use, stays: tuple[Stay, ...] = (), since: float = 4, until: float | None = 8) -> list[Any]:
    """Show the wearings of a component that sat from 4 to 8 in a unit of these uses."""
    return [hours(one) for one in borne(life(), [sat(since, until, life(*stays, uses=uses))]).borne]


def test_hands_are_cut_to_the_time_it_sat_there() -> None:
    """Those that only touch that time had it not; nobody's hand is none."""
    host = life(hand(0, 2), hand(2, 4), hand(4, 5, "p-2"), hand(5, 6, None), hand(6, 12, "p-3"), hand(12, None))
    found = borne(life(), [sat(3, 8, host)]).stays
    assert found == (hand(3, 4), hand(4, 5, "p-2"), hand(6, 8, "p-3"))
    assert borne(life(), [sat(4, 6, host)]).stays == (hand(4, 5, "p-2"),)


def test_parts_of_the_unit_are_none_of_the_component() -> None:
    """Only hands are carried over, beside what the component's own record tells, in order."""
    part = Part(item="cell", condition="new")
    mine = [Stay(name, at(5), at(5), part=part) for name in ("b", "a")]
    host = life(Stay("battery", at(0), at(0), part=part), hand(5, 7))
    assert borne(life(*mine), [sat(3, 8, host)]).stays == (hand(5, 7), mine[1], mine[0])


def test_a_hand_of_a_day_keeps_the_part_of_the_day_in_which_it_sat_there() -> None:
    """The day it began on is told from when the component came in."""
    host = life(hand(6, 7, day=0), hand(7, 9, day=5), hand(9, 10))
    days = [stay.day for stay in borne(life(), [sat(3, 20, host)]).stays]
    assert days == [at(3), at(5), None]


@pytest.mark.parametrize(
    ("use", "found"),
    [
        (worn(5, 7), [[5, 7, 5, 7]]),
        (worn(2, 7), [[4, 7, 4, 7]]),
        (worn(5, 12), [[5, 8, 5, 8]]),
        (worn(2, 4), []),
        (worn(2, 3), []),
        (worn(8, 9), []),
        (worn(4, 9), [[4, 8, 4, 8]]),
        (worn(5), [[5, None, 5, 8]]),
        (worn(2), [[4, None, 4, 8]]),
        (worn(8), []),
        (worn(4, known_by="failed-check"), [[4, None, 4, 4]]),
        (worn(3, known_by="failed-check"), []),
    ],
)
def test_wearings_are_cut_to_the_time_it_sat_there(use: Use, found: list[Any]) -> None:
    """What began meanwhile counts, and what lasted, or may have, into that; a moment before it does not."""
    assert carried(use) == found


def test_what_goes_on_in_a_unit_it_still_sits_in_goes_on() -> None:
    """Where it leaves later than the moment asked about, nothing has ended yet."""
    assert carried(worn(5), until=None) == [[5, None, 5, None]]
    assert carried(worn(5), until=21) == [[5, None, 5, None]]
    assert carried(worn(5), until=20) == [[5, None, 5, 20]]
    assert carried(worn(5), stays=(hand(0, 6),)) == [[5, None, 5, 6]]


def test_on_a_day_alone_hands_are_told_that_it_may_have_met() -> None:
    """From the day's beginning; their time counts from its end, when it is there for sure."""
    host = life(hand(0, 1), hand(1, 4, "p-2"), hand(4, 6, "p-3"), hand(6, 12, "p-4"), hand(12, None, "p-5"))
    found = borne(life(), [sat(8, None, host, day=2)]).stays
    assert found == (
        replace(hand(2, 4, "p-2"), began=at(8)),
        replace(hand(4, 6, "p-3"), began=at(8)),
        replace(hand(6, 12, "p-4"), began=at(8)),
        hand(12, None, "p-5"),
    )
    spans = Spans([Span(at(0), None)], NOW)
    assert [one.seconds for one in hands(found, spans, True, NOW)] == [0, 0, 4 * 3600, 8 * 3600]


def test_a_hand_of_a_day_may_have_been_before_it_was_taken_out() -> None:
    """What states its day alone counts at the end of it, and may have been as it began."""
    host = life(hand(12, None, day=0), hand(6, None, "p-2"))
    [one] = borne(life(), [sat(2, 5, host)]).stays
    assert (one.since, one.until, one.day) == (at(12), at(12), at(2))
    assert borne(life(), [sat(-9, -1, life(hand(12, None, day=0)))]).stays == ()


@pytest.mark.parametrize(
    ("use", "found"),
    [
        (worn(3, 5), [[3, 3, 3, 5]]),
        (worn(1, 3), [[2, 2, 2, 3]]),
        (worn(1, 2), []),
        (worn(5, 10), [[8, 10, 5, 10]]),
        (worn(9, 11), [[9, 11, 9, 11]]),
        (worn(5), [[8, None, 5, None]]),
        (worn(3, known_by="failed-check"), [[3, None, 3, 3]]),
        (worn(12, day=0), [[12, None, 2, None]]),
    ],
)
def test_on_a_day_alone_wearings_are_told_that_it_may_have_met(use: Use, found: list[Any]) -> None:
    """For no second, as far as they were over before the day was."""
    lodging = sat(8, None, life(uses=(use,)), day=2)
    assert [hours(one) for one in borne(life(), [lodging]).borne] == found


def test_before_the_day_is_over_nothing_counts() -> None:
    """Whoever has the unit on is told, for no second yet."""
    lodging = sat(24, None, life(hand(3, None), uses=(worn(5, 9), worn(10))), day=0)
    found = borne(life(), [lodging])
    assert [hours(one) for one in found.borne] == [[5, 5, 5, 9], [10, None, 10, None]]
    assert [one.seconds for one in hands(found.stays, Spans([Span(at(0), None)], NOW), True, NOW)] == [0]


def test_it_is_told_of_every_unit_it_sat_in() -> None:
    """One after the other, what its own record tells beside them."""
    first, second = life(uses=(worn(1, 2),)), life(hand(10, 11, "p-2"), uses=(worn(12, 13, "p-2"),))
    mine = life(hand(9, 10, "p-9"), uses=(worn(9, 9.5, "p-9"),))
    found = borne(mine, [sat(0, 8, first), sat(8, None, second)])
    assert [one.person for one in found.worn] == ["p-1", "p-9", "p-2"]
    assert [stay.holder for stay in found.stays] == [Holder(person="p-9"), Holder(person="p-2")]
