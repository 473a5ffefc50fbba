from typing import Any
from uuid import UUID

import pytest

from service.domain.facts import Fact, Key
from service.domain.identity import Identity
from service.domain.label import normal
from tests.domain.units import at, event, fact, world
from tests.oracle.firm import HOOD, defined, register, tell
from tests.oracle.posting import Posted

WORLD = world(
    defined("model-defined", **(HOOD | {"model": "hood-2"})),
    defined("model-defined", **(HOOD | {"model": "twin", "maker": None})),
)


def registered(hours: float, tag: str = "A-1", **fields: Any) -> Posted:
    """Register a unit so many hours after noon."""
    return register(at(hours).isoformat(), tag, **{"serial": f"S-{tag}"} | fields)


def retagged(hours: float, tag: str, new: str) -> Posted:
    """Give a unit a new tag."""
    return tell("retagged", at(hours).isoformat(), tag, new_tag=new)


def settled(*posted: Posted) -> Identity:
    """Settle the identity of what is posted; the nth message is the nth event."""
    return Identity.of([fact(one, WORLD, number) for number, one in enumerate(posted, 1)][::-1], WORLD)


def meant(identity: Identity, tag: str, hours: float) -> UUID | None:
    """Give the unit a tag means so many hours after noon."""
    key: Key = (at(hours), True, 99, "", -1, b"", False)
    return identity.unit(tag, key)


def test_a_tag_means_the_unit_registered_under_it() -> None:
    """Before its first registration, too; a tag that nobody registered means none."""
    identity = settled(registered(0), registered(0, "A-2"))
    assert [meant(identity, "A-1", hours) for hours in (-5, 5)] == [event(1), event(1)]
    assert meant(identity, "A-2", 5) == event(2)
    assert meant(identity, "A-3", 5) is None
    assert identity.tags() == ("A-1", "A-2")


@pytest.mark.parametrize(
    ("other", "same"),
    [
        ({"serial": " s-a-1 "}, True),
        ({"serial": "S-A-9"}, False),
        ({"serial": "S-A-1", "model": "hood-2"}, True),
        ({"serial": "S-A-1", "model": "twin"}, False),
        ({"serial": "S-A-1", "model": "unknown"}, False),
    ],
)
def test_maker_and_serial_are_the_unit(other: dict[str, Any], same: bool) -> None:
    """Serials compare trimmed and in capitals; without a maker the model stands for it (R13)."""
    identity = settled(registered(0), registered(1, "B-1", **other))
    assert (meant(identity, "B-1", 5) == event(1)) is same
    assert identity.known_serials() == ((event(2),) if same else ())


def test_a_known_serial_is_a_conflict_of_every_later_registration() -> None:
    """Whatever order they are read in, the first in time is the unit."""
    identity = settled(registered(9, "C-1", serial="x"), registered(0, "A-1", serial="x"), registered(5, serial="X"))
    assert identity.known_serials() == (event(1), event(3))
    assert meant(identity, "C-1", 0) == event(2)


def test_a_new_tag_continues_the_unit_and_the_old_one_reaches_it_until_used_again() -> None:
    """Before the new tag was given, it meant that unit as well (R47)."""
    identity = settled(registered(0), retagged(5, "A-1", "B-1"), registered(9, "A-1", serial="other"))
    assert [meant(identity, "A-1", hours) for hours in (1, 6, 10)] == [event(1), event(1), event(3)]
    assert [meant(identity, "B-1", hours) for hours in (1, 6)] == [event(1), event(1)]
    assert identity.newest("A-1") == event(3)
    assert identity.newest("B-1") == event(1)
    assert identity.newest("Z-1") is None


def test_a_retagging_before_the_registration_still_counts() -> None:
    """Identity is settled before anything else: registrations first (R40)."""
    assert meant(settled(registered(9), retagged(5, "A-1", "B-1")), "B-1", 6) == event(1)


def test_retaggings_follow_one_another() -> None:
    """Each goes by what the tag meant at its own place."""
    identity = settled(
        registered(0),
        registered(0, "A-2"),
        retagged(5, "A-1", "C-1"),
        retagged(6, "A-2", "A-1"),
        retagged(7, "A-1", "D-1"),
    )
    assert (meant(identity, "C-1", 9), meant(identity, "D-1", 9)) == (event(1), event(2))


def test_a_retagging_of_no_unit_is_passed_over() -> None:
    """A tag that means nothing gives nothing a new one."""
    identity = settled(registered(0), retagged(5, "Z-1", "B-1"))
    assert meant(identity, "B-1", 9) is None
    assert [fact.event.id for _, fact in identity.claims] == [event(1)]


def test_the_model_is_that_of_the_last_registration() -> None:
    """Before any, the first one's."""
    identity = settled(registered(0), registered(5, "B-1", serial="s-a-1", model="hood-2"))
    places: list[Fact] = identity.registrations[event(1)]
    assert [identity.model(event(1), place.key) for place in places] == ["hood", "hood-2"]
    assert identity.model(event(1), (at(-9), False, 0, "", -1, b"", False)) == "hood"


def test_serials_compare_trimmed_and_in_capitals() -> None:
    """As R13 says."""
    assert normal("  ab-1 ") == "AB-1"
