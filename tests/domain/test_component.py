from typing import Any

import pytest

from service.domain.component import speaks_otherwise
from service.domain.fold import Story
from tests.domain.folding import Folding
from tests.domain.units import at
from tests.oracle.firm import PLAIN, examine, issue, part, register, tell
from tests.oracle.posting import Posted, log
from tests.oracle.record import Report

HOSTS = [register(), register(tag="A-2")]
PACK: dict[str, Any] = {"model": "pack", "serial": "cell-1"}
BATTERY = register("2026-01-05 09:00", "B-1", **PACK, fitted_to="A-1")


def bad(hours: float, tag: str = "B-1") -> Posted:
    """Quarantine the battery so many hours after noon."""
    return tell("quarantined", at(hours).isoformat(), tag, reason="damage")


def swapped(hours: float, tag: str, *, put: str | None = None, out: str | None = None) -> Posted:
    """Put a battery with a serial in, or take one out."""
    given = {"in_": part("cell", serial=put) if put else None, "out": {"serial": out} if out else None}
    return tell("part-replaced", at(hours).isoformat(), tag, position="battery", reason="schedule", **given)


def stories(*posted: Posted, reports: tuple[Report, ...] = ()) -> dict[str, Story]:
    """Fold messages after two units at the dock were registered, by tag."""
    folding = Folding(log([*PLAIN, *HOSTS, *posted]), list(reports))
    return {story.folded.unit.tag: story for story in folding.stories().values()}


def spoken(story: Story) -> list[tuple[float, tuple[str, ...]]]:
    """Give what is said against a unit from Monday noon on: since how many hours after noon, and the reasons."""
    hours = [((one.since - at(0)).total_seconds() / 3600, one.reasons) for one in story.intervals]
    changes = [(max(since, 0), reasons) for since, reasons in hours]
    return [one for nth, one in enumerate(changes) if nth + 1 == len(changes) or changes[nth + 1][0] > 0]


def test_what_speaks_against_a_component_speaks_against_its_unit() -> None:
    """The unit that it was registered for is not to be used, and no other (R51)."""
    told = stories(BATTERY, bad(1))
    assert spoken(told["A-1"]) == [(0, ()), (1, ("withdrawal",))]
    assert spoken(told["A-2"]) == [(0, ())]


@pytest.mark.parametrize(
    ("moves", "first", "second"),
    [
        ([swapped(2, "A-1", out="CELL-1 ")], [(0, ()), (1, ("withdrawal",)), (2, ())], [(0, ())]),
        ([swapped(2, "A-2", out="cell-1")], [(0, ()), (1, ("withdrawal",))], [(0, ())]),
        ([swapped(2, "A-2", put=" Cell-1")], [(0, ()), (1, ("withdrawal",))], [(0, ()), (2, ("withdrawal",))]),
        (
            [swapped(2, "A-2", put="cell-1"), swapped(3, "A-1", out="cell-1")],
            [(0, ()), (1, ("withdrawal",)), (3, ())],
            [(0, ()), (2, ("withdrawal",))],
        ),
        (
            [swapped(1.5, "A-1", out="cell-1"), swapped(2, "A-2", put="cell-1"), swapped(3, "A-2", out="cell-1")],
            [(0, ()), (1, ("withdrawal",)), (1.5, ())],
            [(0, ()), (2, ("withdrawal",)), (3, ())],
        ),
        (
            [swapped(2, "A-2", put="cell-1", out="cell-1")],
            [(0, ()), (1, ("withdrawal",))],
            [(0, ()), (2, ("withdrawal",))],
        ),
        ([swapped(2, "A-2", put="other", out="another")], [(0, ()), (1, ("withdrawal",))], [(0, ())]),
        ([swapped(2, "A-2")], [(0, ()), (1, ("withdrawal",))], [(0, ())]),
        ([swapped(0.5, "A-1", out="cell-1")], [(0, ())], [(0, ())]),
        (
            [swapped(0.5, "A-1", out="cell-1"), swapped(2, "A-1", put="cell-1")],
            [(0, ()), (2, ("withdrawal",))],
            [(0, ())],
        ),
        (
            [tell("retired", at(0.5).isoformat(), "A-2", reason="lost"), swapped(2, "A-2", put="cell-1")],
            [(0, ()), (1, ("withdrawal",))],
            [(0, ()), (0.5, ("retired",))],
        ),
    ],
)
def test_a_component_speaks_where_it_is_fitted(
    moves: list[Posted], first: list[tuple[float, tuple[str, ...]]], second: list[tuple[float, tuple[str, ...]]]
) -> None:
    """Until its own unit tells that a part with its serial was taken out; put in elsewhere it speaks there, too.

    What is said of retired units moves nothing.
    """
    told = stories(BATTERY, bad(1), *moves)
    assert (spoken(told["A-1"]), spoken(told["A-2"])) == (first, second)


def test_a_component_that_is_well_again_speaks_no_more() -> None:
    """Examined and released it lets its unit be used."""
    well = [
        examine(at(2).isoformat(), "B-1", points={"case": "pass"}, airflow_lpm=None),
        tell("released", at(3).isoformat(), "B-1", by="rel-1"),
    ]
    assert spoken(stories(BATTERY, bad(1), *well)["A-1"]) == [(0, ()), (1, ("withdrawal",)), (3, ())]


@pytest.mark.parametrize(
    ("posted", "reasons"),
    [
        (tell("quarantined", at(1).isoformat(), "B-1", reason="recall", recall="r-1"), ("recall", "withdrawal")),
        (tell("retired", at(1).isoformat(), "B-1", reason="lost"), ("retired",)),
        (tell("missing", at(1).isoformat(), "B-1"), ()),
        (tell("sent-to-service", at(1).isoformat(), "B-1", provider="maker"), ()),
    ],
)
def test_a_component_speaks_of_its_condition_not_of_its_place(posted: Posted, reasons: tuple[str, ...]) -> None:
    """A recall and a retirement by their own words; that it is missing or away says nothing against the unit."""
    assert spoken(stories(BATTERY, posted)["A-1"])[-1][1] == reasons


def test_a_report_about_a_component_speaks_too() -> None:
    """While it is not settled."""
    told = stories(BATTERY, reports=(Report("B-1", at(1), at(4)),))
    assert spoken(told["A-1"]) == [(0, ()), (1, ("unresolved-report",)), (4, ())]


def test_a_component_of_nothing_known_speaks_to_nobody() -> None:
    """Nor does one that is fitted to itself."""
    assert spoken(stories(register("2026-01-05 09:00", "B-1", **PACK, fitted_to="Z-9"), bad(1))["A-1"]) == [(0, ())]
    own = stories(register("2026-01-05 09:00", "B-1", **PACK, fitted_to="B-1"), bad(1))
    assert own["B-1"].folded.unit.components == {}


def test_registered_again_it_is_in_the_unit_that_it_was_in() -> None:
    """A registration that names no unit says nothing of where it is; one that names another frees none."""
    free = register(at(2).isoformat(), "B-2", **PACK)
    told = stories(BATTERY, bad(1), free, swapped(3, "A-2", put="cell-1"))
    assert spoken(told["A-1"]) == [(0, ()), (1, ("withdrawal",))]
    assert spoken(told["A-2"]) == [(0, ()), (3, ("withdrawal",))]
    again = register(at(4).isoformat(), "B-3", **PACK, fitted_to="A-2")
    told = stories(BATTERY, bad(1), free, again)
    assert [spoken(told[tag])[-1] for tag in ("A-1", "A-2")] == [(1, ("withdrawal",)), (4, ("withdrawal",))]


def test_a_part_that_shares_its_serial_number_frees_no_unit() -> None:
    """A filter is no component, nor is a part from another place than the one that it was put into."""
    filtered: dict[str, Any] = {"in_": part("p3"), "out": {"serial": "cell-1"}}
    filter_out = tell("filter-replaced", at(2).isoformat(), position="particle-filter", reason="schedule", **filtered)
    assert spoken(stories(BATTERY, bad(1), filter_out)["A-1"]) == [(0, ()), (1, ("withdrawal",))]
    hose = tell("part-replaced", at(3).isoformat(), position="hose", reason="damage", out={"serial": "cell-1"})
    put = swapped(2, "A-1", put="cell-1")
    assert spoken(stories(BATTERY, bad(1), put, hose)["A-1"]) == [(0, ()), (1, ("withdrawal",))]
    assert spoken(stories(BATTERY, bad(1), hose)["A-1"]) == [(0, ()), (1, ("withdrawal",)), (3, ())]
    out = swapped(4, "A-1", out="cell-1")
    assert spoken(stories(BATTERY, bad(1), put, hose, out)["A-1"]) == [(0, ()), (1, ("withdrawal",)), (4, ())]


def test_put_in_at_two_places_it_is_out_once_it_is_out_of_both() -> None:
    """One of the two is another part of its serial number: nobody says which."""
    other = {"position": "pre-filter", "reason": "schedule"}
    put = tell("part-replaced", at(2).isoformat(), **other, in_=part("pre", serial="cell-1"))
    out = tell("part-replaced", at(3).isoformat(), **other, out={"serial": "cell-1"})
    moves = [swapped(1.5, "A-1", put="cell-1"), put, out]
    assert spoken(stories(BATTERY, bad(1), *moves)["A-1"]) == [(0, ()), (1, ("withdrawal",))]
    last = swapped(4, "A-1", out="cell-1")
    assert spoken(stories(BATTERY, bad(1), *moves, last)["A-1"]) == [(0, ()), (1, ("withdrawal",)), (4, ())]


def test_what_was_said_before_it_was_called_a_component_counts() -> None:
    """It was put into A-2, which never said that it was taken out, and is registered for A-1 afterwards."""
    first = register("2026-01-05 09:00", "B-1", **PACK)
    again = register(at(2).isoformat(), "B-2", **PACK, fitted_to="A-1")
    told = stories(first, swapped(0.5, "A-2", put="cell-1"), bad(1), again)
    assert spoken(told["A-2"]) == [(0, ()), (1, ("withdrawal",))]
    assert spoken(told["A-1"]) == [(0, ()), (2, ("withdrawal",))]


@pytest.mark.parametrize("backwards", [False, True])
def test_a_component_speaks_through_the_one_that_it_is_fitted_in(*, backwards: bool) -> None:
    """However deep it sits, and whichever was registered first."""
    chain = [
        register("2026-01-05 09:00", f"C-{nth}", model="pack", serial=f"case-{nth}", fitted_to=f"C-{nth + 1}")
        for nth in range(1, 5)
    ]
    last = register("2026-01-05 09:00", "C-5", model="pack", serial="case-5", fitted_to="A-1")
    posted = [*chain, last][:: -1 if backwards else 1]
    told = stories(*posted, bad(1, "C-1"))
    assert [spoken(told[tag]) for tag in ("A-1", "C-5", "C-2")] == [[(0, ()), (1, ("withdrawal",))]] * 3
    assert spoken(told["A-2"]) == [(0, ())]


def test_components_that_are_fitted_in_each_other_speak_to_each_other() -> None:
    """Nobody says which is in which: once what speaks against one is over, nothing speaks against the other."""
    first = register("2026-01-05 09:00", "C-1", model="pack", serial="case-1", fitted_to="A-1")
    both = [swapped(0.5, "C-1", put="cell-1"), swapped(0.6, "B-1", put="case-1")]
    well = [
        examine(at(2).isoformat(), "B-1", points={"case": "pass"}, airflow_lpm=None),
        tell("released", at(3).isoformat(), "B-1", by="rel-1"),
    ]
    told = stories(BATTERY, first, *both, bad(1), *well)
    assert spoken(told["C-1"]) == [(0, ()), (1, ("withdrawal",)), (3, ())]
    assert spoken(told["A-1"]) == [(0, ()), (1, ("withdrawal",)), (3, ())]


def test_a_unit_put_out_of_use_by_its_component_is_not_ready() -> None:
    """Handed out after that it is a conflict; in the very instant, before it."""
    told = stories(BATTERY, bad(1), issue(at(1).isoformat()), issue(at(2).isoformat(), tag="A-2"))
    assert [one.conflict.code for one in told["A-1"].conflicts] == []
    late = stories(BATTERY, bad(1), issue(at(1.1).isoformat()))
    assert [(one.conflict.code, one.conflict.reasons) for one in late["A-1"].conflicts] == [
        ("not-ready-to-issue", ("withdrawal",))
    ]


@pytest.mark.parametrize("hours", [3, 4])
def test_what_a_component_was_before_it_was_fitted_does_not_speak(hours: float) -> None:
    """A battery released by the moment it is put in says nothing against the unit."""
    well = [
        swapped(0.5, "A-1", out="cell-1"),
        examine(at(2).isoformat(), "B-1", points={"case": "pass"}, airflow_lpm=None),
        tell("released", at(3).isoformat(), "B-1", by="rel-1"),
    ]
    assert spoken(stories(BATTERY, bad(1), *well, swapped(hours, "A-2", put="cell-1"))["A-2"]) == [(0, ())]


def test_a_component_taken_out_as_it_is_withdrawn_does_not_speak() -> None:
    """At the moment at which it leaves it is in the unit no more."""
    assert spoken(stories(BATTERY, swapped(2, "A-1", out="cell-1"), bad(2))["A-1"]) == [(0, ())]


def test_a_component_put_in_and_taken_out_at_one_moment_does_not_speak() -> None:
    """It was never in the unit."""
    moves = [swapped(2, "A-2", put="cell-1"), swapped(2, "A-2", out="cell-1")]
    assert spoken(stories(BATTERY, bad(1), *moves)["A-2"]) == [(0, ())]


def test_a_retired_unit_takes_a_component_again_once_it_is_registered_again() -> None:
    """What is said of it from then on counts; its first registration brings back nothing."""
    gone = tell("retired", at(0.5).isoformat(), "A-2", reason="lost")
    again = register(at(1).isoformat(), "A-4", serial="S-A-2")
    put = swapped(2, "A-4", put="cell-1")
    assert spoken(stories(BATTERY, bad(1), gone, again, put)["A-4"])[-1] == (2, ("withdrawal",))
    early = tell("retired", "2026-01-04 12:00", "A-2", reason="lost")
    assert spoken(stories(BATTERY, bad(1), early, swapped(2, "A-2", put="cell-1"))["A-1"])[-1] == (1, ("withdrawal",))


@pytest.mark.parametrize(
    ("moves", "first", "second"),
    [
        (["A-2 in"], [(0, ()), (1, ("withdrawal",))], [(0, ()), (12, ("withdrawal",))]),
        (["A-1 out"], [(0, ()), (1, ("withdrawal",)), (36, ())], [(0, ())]),
        (["A-2 in", "A-2 out"], [(0, ()), (1, ("withdrawal",))], [(0, ()), (12, ("withdrawal",)), (36, ())]),
        (["A-2 in", 20], [(0, ()), (1, ("withdrawal",))], [(0, ()), (12, ("withdrawal",))]),
        (["A-2 in", "A-1 in"], [(0, ()), (1, ("withdrawal",))], [(0, ()), (12, ("withdrawal",))]),
    ],
)
def test_of_a_day_alone_a_component_speaks_where_it_may_be(
    moves: list[str | float], first: list[tuple[float, tuple[str, ...]]], second: list[tuple[float, tuple[str, ...]]]
) -> None:
    """From the day's beginning in the unit that it was put into, to its end in the one that tells it was taken out.

    So it does if that unit tells, too, at which moment of the day that was.
    """
    told = stories(BATTERY, bad(1), *(of_the_day(move, nth) for nth, move in enumerate(moves)))
    assert (spoken(told["A-1"]), spoken(told["A-2"])) == (first, second)


def of_the_day(move: str | float, nth: int) -> Posted:
    """Swap the battery on the day after, by that alone, one after the other; or into A-2 so many hours after noon."""
    if not isinstance(move, str):
        return swapped(move, "A-2", put="cell-1")
    tag, way = move.split()
    piece: dict[str, Any] = {"in_": part("cell", serial="cell-1")} if way == "in" else {"out": {"serial": "cell-1"}}
    said = {"position": "battery", "reason": "schedule", "device": "kiosk-1", "device_seq": nth}
    return tell("part-replaced", at(24).date().isoformat(), tag, **said, **piece)


def test_a_component_that_comes_back_from_service_says_nothing_new() -> None:
    """What matters to its unit is its condition: told on from where it is away, it speaks as before."""
    away = tell("sent-to-service", at(1).isoformat(), "B-1", provider="maker")
    left = stories(BATTERY, away)["B-1"].folded
    back = tell("received", at(2).isoformat(), "B-1", site="dock")
    assert speaks_otherwise(left, stories(BATTERY, away, back)["B-1"]) is False
    assert speaks_otherwise(left, stories(BATTERY, away, bad(2))["B-1"]) is True


def test_what_a_component_said_before_it_was_left_is_not_said_anew() -> None:
    """Only what it says of the time from then on is held against what it said last; a unit of its own says nothing."""
    told = stories(BATTERY, bad(1), swapped(2, "A-1", out="cell-1"))
    assert speaks_otherwise(told["B-1"].folded, told["B-1"]) is False
    assert speaks_otherwise(told["A-1"].folded, told["B-1"]) is False
