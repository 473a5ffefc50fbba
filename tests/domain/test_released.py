from dataclasses import replace
from datetime import datetime
from typing import Any

import msgspec
import pytest

from service.domain.conflict import Conflict
from service.domain.facts import Key, Taking
from service.domain.unit import Cause
from tests.domain.units import at, event, evidence, fact, unit, world
from tests.oracle.firm import policy, tell

WORLD = world()
FAILED: dict[str, Any] = {"held": (Cause("failed", at(0), event(1)),), "failed": (evidence(0, 1),)}
LACKING = (Conflict("released-without-ground", ("failed",)),)


def place(hours: float) -> Key:
    """Give a place in the fold."""
    return (at(hours), True, 0, "", -1, b"", False)


@pytest.mark.parametrize(
    ("places", "passings", "conflicts"),
    [
        ((place(0),), {"p-3": at(2), "m-1": at(3)}, ()),
        ((place(0),), {"p-3": at(1), "m-1": at(3)}, LACKING),
        ((place(0),), {"p-1": at(2), "m-1": at(3), "rel-1": at(4)}, LACKING),
        ((place(9),), {"p-3": at(2)}, LACKING),
        ((place(0), place(9)), {"p-3": at(2)}, ()),
    ],
)
def test_a_release_rests_on_a_voiding_after_a_passing_check_by_somebody_else(
    places: tuple[Key, ...], passings: dict[str, datetime], conflicts: tuple[Conflict, ...]
) -> None:
    """Than who failed it, voided that and releases it; a failure that is yet to come is none to release from (R26)."""
    one = fact(tell("released", at(5).isoformat(), by="rel-1", voiding=str(event(2))), WORLD, 5)
    one = msgspec.structs.replace(one, taking=Taking(event(1), "p-1", "m-1", at(1), places))
    assert one.event.contradicts(unit(**FAILED, passings=passings), one, WORLD) == conflicts


@pytest.mark.parametrize("bound", [{"key": "nobodys"}, {"key": "kiosk-1"}, {"key": "lead-1"}])
def test_a_release_rests_on_a_voiding_only_by_an_authority_of_the_site(bound: dict[str, str]) -> None:
    """Not by a key that is not known, one without authority, or a lead of other sites."""
    there = world(
        replace(policy("clock", {"tolerance": "PT5M"}), key="kiosk-1", role="site-app"),
        replace(policy("clock", {"tolerance": "PT5M"}), key="lead-1", role="site-lead", sites=frozenset({"mesa"})),
    )
    said = tell("released", at(5).isoformat(), by="rel-1", voiding=str(event(2)), **bound)
    one = msgspec.structs.replace(fact(said, there, 5), taking=Taking(event(1), "p-1", "m-1", at(1), (place(0),)))
    assert one.event.contradicts(unit(**FAILED, passings={"p-3": at(2)}), one, there) == LACKING
