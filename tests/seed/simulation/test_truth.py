"""The truth of a simulation, case by case, each worked out by hand from what the kinds of events mean."""

from datetime import timedelta

import pytest

from seed.simulation.devices import Device
from seed.simulation.truth import MEANS, Stands
from tests.seed.simulation.told import DAWN, EXAMINED, PASS, RECHECK, WITHDRAW, Story

ALICE = {"person": "p-1"}
BEHIND = Device("handheld", ahead=-5400)
SILENT = Device("handheld", says="nothing")


def issued() -> Story:
    """Tell of a unit that was checked and issued."""
    return Story().say("checked", PASS).say("issued", holder=ALICE)


def failed() -> Story:
    """Tell of a unit in hand with a point failing that withdraws it, locked away."""
    return issued().say("failed-check", WITHDRAW).say("quarantined", reason="failed", place="cage")


CASES = {
    "new": (Story(), Stands("in-store", "yard", None, held=False, recheck=False)),
    "issued": (issued(), Stands("issued", "yard", "p-1", held=False, recheck=False)),
    "returned": (issued().say("returned"), Stands("in-store", "yard", None, held=False, recheck=False)),
    "moved": (
        issued().say("returned").say("moved", to_site="dock"),
        Stands("in-transit", "yard", None, held=False, recheck=False),
    ),
    "received": (
        Story().say("moved", to_site="dock").say("received", site="dock"),
        Stands("in-store", "dock", None, held=False, recheck=False),
    ),
    "one recheck": (issued().say("checked", RECHECK), Stands("issued", "yard", "p-1", held=False, recheck=True)),
    "rechecked": (
        issued().say("checked", RECHECK).say("checked", PASS),
        Stands("issued", "yard", "p-1", held=False, recheck=False),
    ),
    "failing twice running": (
        issued().say("checked", RECHECK).say("failed-check", RECHECK),
        Stands("quarantined", "yard", "p-1", held=True, recheck=True),
    ),
    "failing three times in a week": (
        Story().say("checked", RECHECK).say("checked", PASS).say("checked", RECHECK).say("checked", PASS)
        .say("checked", RECHECK),
        Stands("quarantined", "yard", None, held=True, recheck=True),
    ),
    "withdrawn in hand": (
        issued().say("failed-check", WITHDRAW),
        Stands("quarantined", "yard", "p-1", held=True, recheck=False),
    ),
    "put away": (failed(), Stands("quarantined", "yard", None, held=True, recheck=False)),
    "released without ground": (
        failed().say("released"),
        Stands("quarantined", "yard", None, held=True, recheck=False),
    ),
    "released on an examination": (
        failed().say("examined", EXAMINED).say("released"),
        Stands("in-store", "yard", None, held=False, recheck=False),
    ),
    "released on a repair and a check": (
        failed().say("repaired").say("checked", PASS).say("released"),
        Stands("in-store", "yard", None, held=False, recheck=False),
    ),
    "released on a repair that nobody checked": (
        failed().say("checked", PASS).say("repaired").say("released"),
        Stands("quarantined", "yard", None, held=True, recheck=False),
    ),
    "released on an examination before the failure": (
        Story().say("examined", EXAMINED).say("failed-check", WITHDRAW).say("released"),
        Stands("quarantined", "yard", None, held=True, recheck=False),
    ),
    "suspect, repaired and checked": (
        issued().say("quarantined", reason="suspect").say("repaired").say("checked", PASS).say("released"),
        Stands("quarantined", "yard", "p-1", held=True, recheck=False),
    ),
    "suspect, examined": (
        issued().say("quarantined", reason="suspect").say("examined", EXAMINED).say("released"),
        Stands("in-store", "yard", None, held=False, recheck=False),
    ),
    "failing its examination": (
        Story().say("examined", WITHDRAW, result="fail"),
        Stands("quarantined", "yard", None, held=True, recheck=False),
    ),
    "issued while quarantined": (
        failed().say("issued", holder=ALICE),
        Stands("quarantined", "yard", "p-1", held=True, recheck=False),
    ),
    "a clock far behind: the failure counts again after its release": (
        issued().say("failed-check", WITHDRAW, device=BEHIND).say("examined", EXAMINED).say("released"),
        Stands("quarantined", "yard", None, held=True, recheck=False),
    ),
    "a clock far behind: good news counts once": (
        issued().say("returned", device=BEHIND),
        Stands("issued", "yard", "p-1", held=False, recheck=False),
    ),
    "no clock stated, nothing good since": (
        issued().say("checked", RECHECK, device=SILENT),
        Stands("issued", "yard", "p-1", held=False, recheck=True),
    ),
    "no clock stated, overtaken by good news: the recheck is owed again": (
        issued().say("checked", RECHECK, device=SILENT).say("checked", PASS),
        Stands("issued", "yard", "p-1", held=False, recheck=True),
    ),
    "a quarantine that counts again does not take the unit out of a hand": (
        Story().say("quarantined", reason="suspect", place="cage", device=BEHIND).say("examined", EXAMINED)
        .say("released").say("issued", holder=ALICE),
        Stands("quarantined", "yard", "p-1", held=True, recheck=False),
    ),
    "a counter that began again contradicts its device": (
        issued().say("failed-check", WITHDRAW).say("examined", EXAMINED, number=1).say("released", number=2),
        Stands("quarantined", "yard", None, held=True, recheck=False),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("story", "stands"), CASES.values(), ids=CASES)
def test_truth(story: Story, stands: Stands) -> None:
    """A unit stands in the end as its messages mean."""
    assert story.truth.now("FX-1") == stands


def test_truth_of_a_moment_leaves_out_what_came_after() -> None:
    """At a past moment a unit stands as it stood: without what happened later, and without what counts again."""
    truth = issued().say("failed-check", WITHDRAW, device=BEHIND).say("returned").truth
    assert truth.at("FX-1", DAWN - timedelta(seconds=1)) is None
    assert truth.at("FX-1", DAWN) == Stands("in-store", "yard", None, held=False, recheck=False)
    in_hand = Stands("quarantined", "yard", "p-1", held=True, recheck=False)
    assert truth.at("FX-1", DAWN + timedelta(hours=2)) == in_hand  # the clock behind told it too early
    assert truth.at("FX-1", DAWN + timedelta(hours=4)) == Stands("quarantined", "yard", None, held=True, recheck=False)


def test_units_are_counted_by_site_and_phase() -> None:
    """A unit counts once, with its site and phase, as it is and as it was."""
    truth = Story().say("moved", to_site="dock").say("received", site="dock").truth
    assert truth.by_site() == {"dock": {"in-store": 1}}
    assert truth.by_site(DAWN + timedelta(minutes=61)) == {"yard": {"in-transit": 1}}
    assert truth.by_site(DAWN - timedelta(hours=1)) == {}


def test_every_kind_means_something() -> None:
    """The truth knows the kinds that a simulation tells of, and no other."""
    assert set(MEANS) == {
        "registered", "issued", "returned", "moved", "received", "checked", "failed-check", "examined", "repaired",
        "quarantined", "released", "worn", "filter-replaced",
    }  # fmt: skip
