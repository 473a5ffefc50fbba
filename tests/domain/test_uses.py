from service.domain.unit import Wearing
from service.domain.uses import Uses
from service.domain.wearing import Use
from tests.domain.units import at, event, unit

MADE = tuple(Use(at(hours), "dock", None, event(hours)) for hours in (1, 3, 5))


def test_uses_are_open_from_the_oldest_wearing_that_goes_on() -> None:
    """All after it too; one that is over, or whose end is not known, holds none open."""
    going = Wearing("p-1", at(3), event(3), at(9))
    over, endless = Wearing("p-1", at(1), event(1), at(5)), Wearing("p-1", at(1), event(1))
    assert Uses(MADE).open(unit(wearings=(over, endless, going)), at(5)) == MADE[1:]
    assert Uses(MADE).open(unit(wearings=(over, endless)), at(5)) == MADE[2:]
