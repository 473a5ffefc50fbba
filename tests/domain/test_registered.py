from typing import Any

import msgspec

from service.domain.unit import Cause, Dated, Unit, WaitingUse
from tests.domain.units import NOON, at, event, fact, unit, world
from tests.oracle.firm import PASSES, examine, register, tell

WORLD = world()


def again(told: Unit, **fields: Any) -> Unit:
    """Register a unit once more, two hours after noon."""
    one = fact(register(at(2).isoformat(), "A-2", serial="S-2", **fields), WORLD, 5)
    return one.event.happened(told, one, WORLD)


def test_registered_again_a_unit_is_what_is_said_of_it_now() -> None:
    """Its tag, serial, site and model; a size that is left out stays."""
    after = again(unit(size="m"), site="mesa", model="mask")
    assert (after.tag, after.serial, after.site, after.model, after.size) == ("A-2", "S-2", "mesa", "mask", "m")
    assert again(unit(size="m"), size="l").size == "l"


def test_registered_again_it_keeps_its_use_unless_one_is_said() -> None:
    """One that waits for its receipt is waited for no more then; occasional use is for an authority to set (R50)."""
    waiting = (WaitingUse(event(7), "occasional"),)
    told = unit(use="escape", uses_waiting=waiting)
    assert (again(told).use, again(told).uses_waiting) == ("escape", waiting)
    assert (again(told, use="emergency").use, again(told, use="emergency").uses_waiting) == ("emergency", ())
    assert again(told, use="occasional").use == "routine"


def test_a_failing_examination_holds_the_unit_for_having_failed() -> None:
    """That is the reason that a release needs ground for."""
    one = fact(examine(at(2).isoformat(), points=PASSES | {"tube": "fail"}), WORLD, 5)
    assert [cause.reason for cause in one.event.happened(unit(), one, WORLD).held] == ["failed"]


def test_released_while_missing_or_away_a_unit_stays_there() -> None:
    """Its reasons are gone, but nobody has seen it come back; one at hand goes into store."""
    one = fact(tell("released", at(2).isoformat(), by="rel-1"), WORLD, 5)
    good: dict[str, Any] = {
        "held": (Cause("failed", at(0), event(1)),),
        "examined": Dated(at(1), NOON.date(), event(2)),
        "where": "issued",
    }
    for where in ({"missing": True}, {"at_service": "maker-1"}, {"moved_to": "mesa"}):
        after = one.event.happened(unit(**good, **where), one, WORLD)
        assert (after.held, after.where) == ((), "issued")
        assert after == msgspec.structs.replace(unit(**good, **where), held=())
    assert one.event.happened(unit(**good), one, WORLD).where == "in-store"
