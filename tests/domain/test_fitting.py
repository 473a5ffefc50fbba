from typing import Any

import msgspec
import pytest

from service.domain.fitting import fit, identify, points_of, read_battery, read_loading, use_parts
from service.domain.part import Part
from service.domain.unit import Charge, Cover, Fitted, Loading, Opening, Unit
from tests.domain.units import NOON, at, event, evidence, fact, unit, world
from tests.oracle.firm import tell
from tests.oracle.posting import Posted

WORLD = world()
MONDAY = NOON.date()
P3, CELL = Part(item="p3", condition="new"), Part(item="cell", condition="new")
COVER = Cover(event(1), "p-1", at(0), at(12))
OLD = Fitted(Part(item="p3", condition="new", lot="L1"), at(-99), MONDAY, event(8), used=Opening(at(-9), MONDAY))
LOADED = Loading(4, at(-5), event(7))


def swap(on: str | None = None) -> Posted:
    """Swap a part at two in the afternoon, or some time on a day."""
    return tell("part-replaced", on or at(2).isoformat(), position="x", reason="schedule")


def fitted(told: Unit, position: str, part: Part | None) -> Unit:
    """Put a part in."""
    return fit(told, position, part, fact(swap(), WORLD, 5), WORLD)


def test_a_part_put_in_starts_anew() -> None:
    """Its use is counted from what the unit has served so far, and its loading was never read."""
    told = unit(uses=7, worn=9, parts={"particle-filter": OLD}, loadings={"particle-filter": LOADED}, cover=COVER)
    after = fitted(told, "particle-filter", P3)
    assert after.parts == {
        "particle-filter": Fitted(P3, at(2), MONDAY, event(5), used=None, uses_before=7, worn_before=9)
    }
    assert (after.loadings, after.cover) == ({}, None)


def test_other_positions_stay_as_they_are() -> None:
    """What sits elsewhere, and what was read of it, is not touched."""
    told = unit(parts={"pre-filter": OLD}, loadings={"pre-filter": LOADED})
    after = fitted(told, "particle-filter", None)
    assert after.parts["pre-filter"] == OLD
    assert after.parts["particle-filter"].part is None
    assert after.loadings == {"pre-filter": LOADED}


def test_a_part_of_a_day_was_fitted_on_that_day() -> None:
    """Good news of a day counts at its end, but the day is its own."""
    after = fit(unit(), "pre-filter", P3, fact(swap("2026-03-04"), WORLD), WORLD)
    assert after.parts["pre-filter"].on.isoformat() == "2026-03-04"
    assert after.parts["pre-filter"].at.isoformat() == "2026-03-05T00:00:00+00:00"


def test_a_battery_pauses_the_cover_and_makes_the_charge_unknown() -> None:
    """After a battery swap cover waits for the points that restore it, and capacity is forgotten."""
    told = unit(cover=COVER, charge=Charge(80, at(0), event(2)), capacity=Charge(90, at(0), event(2)))
    after = fitted(told, "battery", CELL)
    assert after.cover is not None
    assert after.cover.paused
    assert (after.charge, after.capacity) == (Charge(None, at(2), event(5)), None)
    assert fitted(unit(), "battery", CELL).cover is None


def test_any_other_part_leaves_the_charge_as_read() -> None:
    """Only the battery's position tells of the battery; so does none of a model nobody defined."""
    charge = Charge(80, at(0), event(2))
    assert fitted(unit(cover=COVER, charge=charge), "breathing-tube", CELL).charge == charge
    assert fitted(unit(model="unknown", cover=COVER, charge=charge), "battery", CELL).charge == charge


def test_what_is_identified_goes_on() -> None:
    """Age, use and readings go on; only the part is known better. Nothing was changed, so the cover stays."""
    told = unit(parts={"particle-filter": OLD}, loadings={"particle-filter": LOADED}, cover=COVER)
    after = identify(told, "particle-filter", P3, fact(swap(), WORLD, 5), WORLD)
    assert after.parts["particle-filter"].part == P3
    assert after.parts["particle-filter"].at == at(-99)
    assert (after.loadings, after.cover) == ({"particle-filter": LOADED}, COVER)


@pytest.mark.parametrize(
    ("parts", "was_there"), [({}, True), ({"particle-filter": Fitted(None, at(-99), MONDAY, event(8))}, False)]
)
def test_identified_where_nothing_was_known_it_starts_there(parts: dict[str, Fitted], was_there: object) -> None:
    """Of a position that was empty it is put in unseen; where nothing was said it was there all along."""
    after = identify(unit(parts=parts), "particle-filter", P3, fact(swap(), WORLD, 5), WORLD)
    assert after.parts["particle-filter"] == Fitted(P3, at(2), MONDAY, event(5), was_there=bool(was_there))


def test_identified_as_another_it_is_known_as_that_since() -> None:
    """Said to be the same again it keeps the moment at which it was named; said to be of another lot it does not."""
    first = Part(item="p3", condition="refitted", lot="L1")
    same = identify(unit(parts={"particle-filter": OLD}), "particle-filter", first, fact(swap(), WORLD, 5), WORLD)
    assert same.parts["particle-filter"].named_at is None
    other = msgspec.structs.replace(P3, lot="L-9")
    after = identify(same, "particle-filter", other, fact(swap(), WORLD, 5), WORLD)
    assert after.parts["particle-filter"].named_at == at(2)
    again = identify(after, "particle-filter", other, fact(swap(), WORLD, 6), WORLD)
    assert again.parts["particle-filter"].named_at == at(2)


def test_the_first_use_opens_every_part() -> None:
    """Later uses change nothing in what is fitted, and everything served is added up."""
    new = Fitted(P3, at(0), MONDAY, event(1))
    after = use_parts(unit(parts={"a": OLD, "b": new}, uses=1, worn=5), at(3), MONDAY, uses=1, worn=10)
    assert (after.uses, after.worn) == (2, 15)
    assert after.parts["a"] == OLD
    assert after.parts["b"].used == Opening(at(3), MONDAY)
    assert use_parts(after, at(4), MONDAY).parts == after.parts


@pytest.mark.parametrize(
    ("said", "levels"),
    [
        (3, {"particle-filter": 3}),
        ({"pre-filter": 2, "other": 1}, {"pre-filter": 2, "other": 1}),
        (None, {}),
    ],
)
def test_a_loading_speaks_of_the_particle_filter_or_of_the_positions_named(said: Any, levels: dict[str, int]) -> None:
    """A number speaks of the particle filter, an object of what it names (R52)."""
    after = read_loading(unit(), said, fact(swap(), WORLD, 5), WORLD)
    assert after.loadings == {name: Loading(level, at(2), event(5)) for name, level in levels.items()}


def test_a_newer_loading_takes_the_place_of_the_older() -> None:
    """Of its own position; of a model nobody defined a number speaks of nothing."""
    told = unit(loadings={"particle-filter": LOADED, "pre-filter": LOADED})
    after = read_loading(told, 1, fact(swap(), WORLD, 5), WORLD)
    assert after.loadings == {"particle-filter": Loading(1, at(2), event(5)), "pre-filter": LOADED}
    assert read_loading(unit(model="unknown"), 1, fact(swap(), WORLD), WORLD).loadings == {}


LOW = Charge(10, at(-3), event(2))


@pytest.mark.parametrize(
    ("percent", "told", "charge"),
    [
        (55, False, Charge(55, at(0), event(1))),
        (55, True, Charge(55, at(0), event(1))),
        (None, True, None),
        (None, False, LOW),
    ],
)
def test_a_charge_is_told_by_a_percentage_or_by_its_point(
    percent: float | None, told: bool, charge: Charge | None
) -> None:
    """A percentage is remembered; a battery point with a result says that it is well; else the last reading stays."""
    assert read_battery(unit(charge=LOW), percent, None, evidence(0), told=told).charge == charge


def test_a_capacity_is_remembered_until_it_is_measured_again() -> None:
    """It does not depend on the charge."""
    after = read_battery(unit(capacity=LOW), None, None, evidence(0))
    assert after.capacity == LOW
    assert read_battery(after, None, 77, evidence(0)).capacity == Charge(77, at(0), event(1))


def test_points_are_found_by_their_role() -> None:
    """Of the model in force; a model nobody defined has none."""
    assert points_of(unit(), "battery", at(0), WORLD) == ["battery"]
    assert points_of(unit(), "face-seal", at(0), WORLD) == []
    assert points_of(unit(model="unknown"), "battery", at(0), WORLD) == []
