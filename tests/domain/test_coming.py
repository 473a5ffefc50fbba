"""What time will make of a unit, told beforehand, by worked examples."""

from typing import Any

from msgspec.structs import replace

from service.domain.coming import Coming, coming
from service.domain.fold import passing
from service.domain.holder import Holder
from service.domain.intervals import Interval
from service.domain.standing import FOREVER
from service.domain.unit import Cover, Unit
from service.domain.world import World
from tests.domain.units import DAY, at, event, unit, world
from tests.oracle.firm import policy
from tests.oracle.posting import moment

WORLD = world()
WORN = world(policy("pre-use-check", {"count": "worn"}))
TOLD = unit(where="issued", holder=Holder(person="p-1"), cover=Cover(event(1), "p-1", at(0), at(12)))
WELL = Interval(at(0), FOREVER, "dock", "hood", "issued", in_scope=True, standing="in-date")
TWO_YEARS = 732 * DAY


def foretold(told: Unit, there: World = WORLD, *intervals: Interval) -> Coming:
    """Tell the uses to come from noon of Monday 2 March on."""
    scenes = [scene for _, scene, _ in passing(told, at(0), FOREVER, there)]
    return coming(scenes, intervals or [WELL])


def midnight(day: int) -> Any:
    """Give the start of a day of March at the dock."""
    return moment(f"2026-03-{day:02} 00:00")


def test_the_next_ten_uses_are_told() -> None:
    """The working days of two weeks from Monday noon on: a check covers the first, and the eleventh ends them."""
    uses = (at(0), *map(midnight, (3, 4, 5, 6, 9, 10, 11, 12, 13)))
    assert foretold(TOLD) == Coming(uses, 1, 1, midnight(16))
    assert foretold(replace(TOLD, cover=None)) == Coming(uses, 0, 0, midnight(16))


def test_nothing_is_told_of_what_time_does_not_use() -> None:
    """A unit in store, one that was retired, and where what was worn counts."""
    nothing = Coming((), 0, 0, at(0) + TWO_YEARS)
    told = [foretold(unit()), foretold(replace(TOLD, retired=True)), foretold(TOLD, WORN)]
    assert told == [nothing] * 3


def test_a_version_that_begins_meanwhile_counts_from_there_on() -> None:
    """From Wednesday on what was worn counts: two uses are left; one that says what was said before changes nothing."""
    wednesday = "2026-03-04 00:00"
    later = world(policy("pre-use-check", {"count": "worn"}, wednesday))
    again = world(policy("pre-use-check", {"count": "working-days"}, wednesday))
    assert foretold(TOLD, later) == Coming((at(0), midnight(3)), 1, 1, at(0) + TWO_YEARS)
    assert foretold(TOLD, again) == foretold(TOLD)


def test_uses_are_sound_up_to_the_first_that_anything_is_against() -> None:
    """The want of a check apart, which covers two here."""
    told = replace(TOLD, cover=Cover(event(1), "p-1", at(0), at(14)))
    well = replace(WELL, until=at(2))
    overdue = replace(WELL, since=at(2), standing="overdue", do_not_use=True, reasons=("no-evidence",))
    unchecked = replace(overdue, reasons=("used-without-check",))
    assert [
        (one.covered, one.sound) for one in (foretold(told, WORLD, well, later) for later in (unchecked, overdue))
    ] == [
        (2, 2),
        (2, 1),
    ]
