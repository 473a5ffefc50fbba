from typing import Any

import pytest

from service.domain.intervals import Interval
from service.domain.unit import Wearing
from service.domain.uses import Uses, told_by
from service.domain.wearing import Use
from tests.domain.units import at, event, fact, unit, world
from tests.oracle.firm import PASSES, check, fails, tell, wear

WORLD = world()

MADE = tuple(Use(at(hours), "dock", None, event(hours)) for hours in (1, 3, 5))


def test_uses_are_open_from_the_oldest_wearing_that_goes_on() -> None:
    """All after it too; one that is over, or whose end is not known, holds none open."""
    going = Wearing("p-1", at(3), event(3), at(9))
    over, endless = Wearing("p-1", at(1), event(1), at(5)), Wearing("p-1", at(1), event(1))
    assert Uses(MADE).open(unit(wearings=(over, endless, going)), at(5)) == MADE[1:]
    assert Uses(MADE).open(unit(wearings=(over, endless)), at(5)) == MADE[2:]


def test_who_wore_a_unit_is_told_by_four_kinds_of_events() -> None:
    """Each says by which it is known; aside, since no check need cover what it tells."""
    when = at(2).isoformat()
    posted = [
        wear(when),
        check(when),
        tell("failed-check", when, wearer="p-1", points=fails("tube")),
        tell("failed-in-use", when, wearer="p-1", signs=["low-flow-alarm"]),
    ]
    found = [told_by(unit(), fact(one, WORLD)) for one in posted]
    assert [one and (one.known_by, one.person, one.at, one.site) for one in found] == [
        ("worn", "p-1", at(2), "dock"),
        ("checked", "p-1", at(2), "dock"),
        ("failed-check", "p-1", at(2), "dock"),
        ("failed-in-use", "p-1", at(2), "dock"),
    ]
    assert all(one is not None and (one.worn, one.counted, one.aside) == (True, False, True) for one in found)


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("checked", {"points": PASSES}),
        ("failed-check", {"points": fails("tube")}),
        ("failed-in-use", {"signs": ["low-flow-alarm"]}),
        ("returned", {}),
    ],
)
def test_an_event_that_names_no_wearer_tells_of_none(kind: str, fields: dict[str, Any]) -> None:
    """Neither does one that is told again where its clock cannot be believed."""
    assert told_by(unit(), fact(tell(kind, at(2).isoformat(), **fields), WORLD)) is None


def test_a_wearing_that_came_to_lack_cover_is_told_so() -> None:
    """One that stands aside is judged by nobody, and keeps what it tells."""
    worn = Use(at(1), "dock", None, event(1), "p-1", worn=True)
    aside = Use(at(1), "dock", None, event(2), "p-1", worn=True, counted=False, aside=True)
    uses = Uses([worn, aside])
    lapsed = [Wearing("p-1", at(1), event(number), at(9), covered=False, lapse=at(5)) for number in (1, 2)]
    uses.lapse(unit(wearings=tuple(lapsed)))
    assert [use.lapse for use in uses.made] == [at(5), None]


def test_a_use_by_the_calendar_is_forbidden_by_what_stood_as_it_began() -> None:
    """The want of a check apart, which is told by itself; from the instant at which it may be used again nothing is."""
    reasons = ("recall", "used-without-check")
    stands = [
        Interval(at(0), at(4), "dock", "hood", "issued", in_scope=True, do_not_use=True, reasons=reasons),
        Interval(at(4), at(9), "dock", "hood", "issued", in_scope=True, reasons=("recall",)),
    ]
    uses = Uses(())
    uses.add([Use(at(hours), "dock", None, event(1)) for hours in (1, 3, 4, 5)], stands)
    assert [use.forbidden for use in uses.made] == [("recall",), ("recall",), (), ()]
