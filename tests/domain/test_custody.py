from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.conflict import Conflict
from service.domain.custody import (
    arrive,
    elsewhere,
    end_use,
    hand_over,
    is_away,
    out_of_use,
    put_in_store,
    seen,
    station,
)
from service.domain.holder import Holder
from service.domain.unit import PHASES, Breach, Cause, Cover, Dated, Unit, Wearing, phase, use_of
from tests.domain.units import at, event, unit

P1, P2 = Holder(person="p-1"), Holder(person="p-2")
COVER = Cover(event(1), "p-1", at(0), at(12))
OPEN = Breach(at(1), "p-1", "used-without-check", None)
OWED = Breach(at(1), None, "function-check-owed", event(2))
WORN = Wearing("p-1", at(0), event(3), at(9))
ISSUE = Dated(at(5), date(2026, 3, 2), event(9))


def in_use(**fields: Any) -> Unit:
    """Make a unit in issue and in use by p-1."""
    given = {"where": "issued", "holder": P1, "cover": COVER, "breaches": (OPEN, OWED), "wearings": (WORN,)}
    return unit(**given | fields)


def used(told: Unit) -> tuple[object, ...]:
    """Give what goes with a hand."""
    return (told.holder, told.cover, told.breaches, told.wearings)


def test_the_end_of_use_ends_cover_breaches_and_wearings_but_no_function_check() -> None:
    """The holder is left to be told; the function check stays owed."""
    assert used(end_use(in_use())) == (P1, None, (OWED,), ())


def test_put_in_store_it_is_in_nobodys_hands_at_its_place() -> None:
    """It may still be away or missing: that is not told by it."""
    told = put_in_store(in_use(at_service="maker"), at(5), "cage")
    assert used(told) == (None, None, (OWED,), ())
    assert (told.where, told.place, told.placed_at, told.at_service) == ("in-store", "cage", at(5), "maker")


def test_what_arrives_is_no_longer_away() -> None:
    """It is at the site named, or where it was."""
    told = arrive(in_use(moved_to="works", at_service="maker"), at(5), "mesa", "shelf")
    assert (told.moved_to, told.at_service, told.site, told.place) == (None, None, "mesa", "shelf")
    assert (told.where, told.holder, told.placed_at) == ("in-store", None, at(5))
    assert arrive(in_use(), at(5)).site == "dock"


def test_what_is_seen_is_found_and_put_aside() -> None:
    """A missing unit that is seen is in store, and held until it is examined."""
    told = seen(in_use(missing=True, moved_to="works"), at(5), event(7))
    assert (told.missing, told.where, told.holder, told.moved_to) == (False, "in-store", None, None)
    assert told.held == (Cause("found", at(5), event(7)),)


def test_handed_over_out_of_nobodys_hands_cover_and_use_go_on() -> None:
    """A check made for the holder before covers the holder from now on."""
    told = hand_over(in_use(where="in-store", holder=None, moved_to="x", at_service="y"), P1, "mesa", ISSUE)
    assert used(told) == (P1, COVER, (OPEN, OWED), (WORN,))
    assert (told.where, told.site, told.place, told.placed_at) == ("issued", "mesa", None, at(5))
    assert (told.moved_to, told.at_service, told.first_issue) == (None, None, ISSUE)


def test_handed_to_the_same_holder_again_nothing_ends() -> None:
    """Neither cover nor use."""
    assert used(hand_over(in_use(), P1, None, ISSUE)) == (P1, COVER, (OPEN, OWED), (WORN,))


def test_handed_to_another_it_left_the_first_hand() -> None:
    """Cover, breaches and wearings of the first holder end."""
    assert used(hand_over(in_use(), P2, None, ISSUE)) == (P2, None, (OWED,), ())
    assert hand_over(in_use(), P2, None, ISSUE).site == "dock"


@pytest.mark.parametrize(
    ("holder", "kept"), [(P1, True), (P2, False), (Holder(crew="c-1"), True), (Holder(vehicle="v-1"), True)]
)
def test_out_of_store_the_cover_of_another_person_ends(holder: Holder, kept: bool) -> None:
    """A crew or a vehicle keeps any cover."""
    told = hand_over(in_use(where="in-store", holder=None), holder, None, ISSUE)
    assert told.cover == (COVER if kept else None)


def test_a_holder_that_is_a_place_is_its_place() -> None:
    """Issued to a place it is there."""
    assert hand_over(unit(), Holder(place="bay-2"), None, ISSUE).place == "bay-2"


def test_the_first_issue_is_remembered_whatever_follows() -> None:
    """Stationing counts as issue too (R50)."""
    first = Dated(at(0), date(2026, 3, 1), event(8))
    assert station(unit(), "cab-1", None, first).first_issue == first
    assert station(unit(first_issue=first), "cab-1", None, ISSUE).first_issue == first
    assert hand_over(unit(first_issue=first), P1, None, ISSUE).first_issue == first


def test_stationed_it_stands_in_nobodys_hands() -> None:
    """At its point, from then on."""
    told = station(in_use(moved_to="works"), "cab-1", "works", ISSUE)
    assert used(told) == (None, None, (OWED,), ())
    assert (told.where, told.place, told.site, told.moved_to, told.placed_at) == (
        "stationed", "cab-1", "works", None, at(5),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "away"), [({}, False), ({"moved_to": "works"}, True), ({"at_service": "maker", "missing": True}, True)]
)
def test_away_is_in_transit_or_at_service(fields: dict[str, Any], away: bool) -> None:
    """Even if it is missing besides."""
    assert is_away(unit(**fields)) is away


def test_seen_at_another_site_it_was_not_received() -> None:
    """Without a site nothing is claimed."""
    assert elsewhere(unit(), "mesa") == (Conflict("not-received"),)
    assert elsewhere(unit(), "dock") == ()
    assert elsewhere(unit(), None) == ()


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"held": (Cause("damage", at(0), event(1)),)}, "worn-while-quarantined"),
        ({"missing": True}, "worn-while-missing"),
        ({"at_service": "maker"}, "worn-while-at-service"),
        ({"retired": True}, "worn-while-retired"),
        ({"moved_to": "works"}, None),
        ({"where": "issued"}, None),
        ({"where": "stationed"}, None),
        ({}, None),
    ],
)
def test_some_phases_rule_a_use_out(fields: dict[str, Any], expected: str | None) -> None:
    """Quarantined, missing, at service and retired (R53)."""
    assert out_of_use(unit(**fields), "worn") == (() if expected is None else (Conflict(expected),))


def test_of_several_phases_the_first_is_said() -> None:
    """Retired, missing, at service, in transit, quarantined, then where it is (R42)."""
    told = unit(
        where="issued", held=(Cause("damage", at(0), event(1)),), moved_to="works", at_service="m", missing=True,
        retired=True,
    )  # fmt: skip
    said = []
    for undone in ({}, {"retired": False}, {"missing": False}, {"at_service": None}, {"moved_to": None}, {"held": ()}):
        told = replace(told, **undone)
        said.append(phase(told))
    assert said == ["retired", "missing", "at-service", "in-transit", "quarantined", "issued"]
    assert set(said) | {"in-store", "stationed"} == set(PHASES)


def test_a_stationed_unit_is_judged_as_emergency_use() -> None:
    """Whatever its own use; any other by its own (R50)."""
    assert use_of(unit(where="stationed")) == "emergency"
    assert use_of(unit(where="stationed", use="escape")) == "emergency"
    assert use_of(unit(where="issued", use="escape")) == "escape"
