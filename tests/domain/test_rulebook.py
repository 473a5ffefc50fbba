"""Versions of reference data in time: which holds, which changes what, and what was asked."""

from datetime import UTC, date, datetime, timedelta
from itertools import permutations
from typing import Any

import pytest

from service.domain.calendar import zone
from service.domain.kinds.found import Found
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from service.domain.traced import Traced
from tests.domain.reference_data import correction, day, instrument, item, model, policy, recorded, site, task, voided


def book(*rows: Recorded) -> Rulebook:
    """Build a rulebook."""
    return Rulebook.build(rows)


def region(rulebook: Rulebook, at: datetime) -> str | None:
    """Read the region of the dock, which tells its versions apart."""
    found = rulebook.site("dock", at)
    assert found is not None
    return found.region


def test_first_version_holds_for_all_earlier_time() -> None:
    """A version holds from its receipt, the first one also before (R40)."""
    rulebook = book(site(day(10), region="a"), site(day(20), region="b"))
    assert region(rulebook, day(1, year=1999)) == "a"
    assert region(rulebook, day(20) - timedelta(microseconds=1)) == "a"
    assert region(rulebook, day(20)) == "b"
    assert region(rulebook, day(1, year=2199)) == "b"


def test_later_effect() -> None:
    """A version may be announced: it holds from its `effective_from`, not from its receipt."""
    rulebook = book(site(day(10), region="a"), site(day(11), region="b", effective_from=day(20)))
    assert region(rulebook, day(19)) == "a"
    assert region(rulebook, day(20)) == "b"


def test_earlier_effect_needs_a_correction() -> None:
    """An `effective_from` before receipt bites from receipt, but with `correction` and a reason from then (R5)."""
    plain = book(site(day(1), region="a"), site(day(20), region="b", effective_from=day(10)))
    assert region(plain, day(19)) == "a"
    assert region(plain, day(20)) == "b"
    reasoned = book(site(day(1), region="a"), site(day(20), region="b", effective_from=day(10), reason="as it was"))
    assert region(reasoned, day(19)) == "a"
    corrected = book(site(day(1), region="a"), site(day(20), region="b", **correction(day(10))))
    assert region(corrected, day(10) - timedelta(microseconds=1)) == "a"
    assert region(corrected, day(10)) == "b"


def test_offset_of_the_effect() -> None:
    """An `effective_from` with an offset means the same instant."""
    rulebook = book(site(day(1), region="a"), site(day(2), region="b", effective_from="2026-01-20T02:00:00+02:00"))
    assert region(rulebook, day(20) - timedelta(microseconds=1)) == "a"
    assert region(rulebook, day(20)) == "b"
    assert rulebook.changes({"site:dock"}, day(1), day(30)) == [day(20)]
    assert rulebook.changes({"site:dock"}, day(1), day(30))[0].tzinfo is UTC


def test_correction_bites_up_to_the_next_version() -> None:
    """A correction of the past leaves the version that took effect after it in force."""
    rulebook = book(site(day(10), region="a"), site(day(20), region="b", **correction(day(5))))
    assert region(rulebook, day(1)) == "b"
    assert region(rulebook, day(9)) == "b"
    assert region(rulebook, day(10)) == "a"
    assert region(rulebook, day(25)) == "a"


def test_correction_from_the_same_instant_replaces() -> None:
    """A correction from the instant at which another version began replaces it from there."""
    first = site(day(10), region="a", occurred_at=day(9))
    rulebook = book(first, site(day(20), region="b", **correction(day(10))))
    assert region(rulebook, day(10)) == "b"
    assert region(rulebook, day(1)) == "b"


@pytest.mark.parametrize(
    ("lesser", "greater"),
    [
        ({"occurred_at": day(1)}, {"occurred_at": day(2)}),
        ({"occurred_on": "2026-01-01"}, {"occurred_at": day(2, minute=1)}),  # a day counts at its end
        ({"occurred_at": day(1, hour=23)}, {"occurred_on": "2026-01-01"}),
        ({"occurred_at": day(1), "device": "a"}, {"occurred_at": day(1), "device": "b"}),
        ({"occurred_at": day(1)}, {"occurred_at": day(1), "device": "a"}),
        (
            {"occurred_at": day(1), "device": "a", "device_seq": 9},
            {"occurred_at": day(1), "device": "a", "device_seq": 10},
        ),
        ({"occurred_at": day(1), "device": "a"}, {"occurred_at": day(1), "device": "a", "device_seq": 0}),
        ({"occurred_at": day(1)}, {"occurred_at": day(1)}),  # the later id
    ],
)
def test_of_one_instant_the_last_in_fold_order_holds(lesser: dict[str, Any], greater: dict[str, Any]) -> None:
    """Of versions that take effect at one instant the one last by R2 holds, in whatever order they come."""
    rows = (site(day(10), region="a", **lesser), site(day(10), region="b", **greater))
    for order in permutations(rows):
        assert region(book(*order), day(11)) == "b"


def test_a_day_ends_in_the_sites_own_zone() -> None:
    """The day of a site's definition ends by the site's own clock: New York's 1 January after 3 am UTC of the 2nd."""
    late = site(day(10), region="b", occurred_on="2026-01-01", time_zone="America/New_York")
    early = site(day(10), region="a", occurred_at=day(2, hour=3))
    assert region(book(late, early), day(11)) == "b"


def test_any_order_gives_the_same() -> None:
    """Versions hold alike in whatever order they are given."""
    rows = (
        site(day(10), region="a"),
        site(day(20), region="b", **correction(day(5))),
        site(day(12), region="c", effective_from=day(25)),
        site(day(15), region="d"),
    )
    for order in permutations(rows):
        held = [region(book(*order), day(number)) for number in (1, 5, 9, 10, 14, 15, 24, 25, 30)]
        assert held == ["b", "b", "b", "a", "a", "d", "d", "c", "c"]


def test_voided_version_never_was() -> None:
    """A voided version is none, a voided voiding restores it, and so on (decision 7)."""
    first, second = site(day(1), region="a"), site(day(10), region="b")
    voiding = voided(day(11), second)
    restoring = voided(day(12), voiding)
    again = voided(day(13), restoring)
    assert region(book(first, second, voiding), day(20)) == "a"
    assert region(book(first, second, voiding, restoring), day(20)) == "b"
    assert region(book(first, second, voiding, restoring, again), day(20)) == "a"
    assert region(book(again, voiding, second, restoring, first), day(20)) == "a"
    assert book(first, voided(day(2), first)).site("dock", day(3)) is None


def test_a_model_without_a_version_left_lists_what_those_taken_back_did() -> None:
    """All of them, whenever they held; beside one that stands they say nothing."""
    first, second = model(day(1), name="a"), model(day(5), name="b")
    void_both = (voided(day(6), first), voided(day(7), second))

    def listed(*rows: Recorded) -> tuple[list[str], list[str]]:
        rulebook = book(first, second, model(day(1), ref="mask", name="m"), *rows)
        within = [one.name for one in rulebook.listing("hood", day(2), day(3))]
        return within, sorted(one.name for one in rulebook.listings())

    assert listed() == (["a"], ["a", "b", "m"])
    assert listed(void_both[0]) == (["b"], ["b", "m"])
    assert listed(*void_both) == (["a", "b"], ["a", "b", "m"])
    assert listed(*void_both, model(day(9), name="c")) == (["c"], ["c", "m"])
    assert list(book(first).listing("no-such-model", day(2), day(3))) == []
    assert [found and found.name for found in map(book(first, second, *void_both).first_unmade, ("hood", "mask"))] == [
        "a",
        None,
    ]


def test_other_kinds_are_passed_over() -> None:
    """Events that are no reference data make no difference."""
    found = recorded(Found, day(2), {"asset": "FX-1"})
    assert region(book(found, site(day(1), region="a")), day(3)) == "a"


def test_each_kind_by_its_own_reference() -> None:
    """Sites, models, items, tasks and instruments are kept apart, also under one reference."""
    rulebook = book(
        site(day(1), "x"), model(day(1), "x"), item(day(1), "x"), task(day(1), "x"), instrument(day(1), "x")
    )
    found = (
        rulebook.site("x", day(2)),
        rulebook.model("x", day(2)),
        rulebook.item("x", day(2)),
        rulebook.task("x", day(2)),
        rulebook.instrument("x", day(2)),
    )
    assert [event.kind for event in found if event] == [
        "site-defined",
        "model-defined",
        "item-defined",
        "task-defined",
        "instrument-defined",
    ]


def test_nothing_defined() -> None:
    """What is not defined is None, and its zone UTC."""
    rulebook = book(model(day(1), "x"))
    assert rulebook.site("x", day(2)) is None
    assert rulebook.model(None, day(2)) is None
    assert rulebook.item("x", day(2)) is None
    assert rulebook.task("x", day(2)) is None
    assert rulebook.instrument("x", day(2)) is None
    assert rulebook.first_model("y") is None
    assert rulebook.zone("x", day(2)) is zone("UTC")
    assert rulebook.zone(None, day(2)) is zone("UTC")
    assert rulebook.zone_on("x", date(2026, 1, 2)) is zone("UTC")


def test_first_model() -> None:
    """The first version of a model is the one that took effect first."""
    rulebook = book(model(day(10), maker="b"), model(day(20), maker="a", **correction(day(5))))
    first = rulebook.first_model("hood")
    assert first is not None
    assert first.maker == "a"


def test_zone_changes() -> None:
    """A site's zone is dated: the one in force as the day starts by its own clock serves for the day."""
    rulebook = book(
        site(day(1), time_zone="Europe/London"),
        site(day(10, hour=5), time_zone="America/New_York"),  # midnight in New York
        site(day(20, hour=12), time_zone="Europe/Paris"),
    )
    assert rulebook.zone("dock", day(10, hour=4)) is zone("Europe/London")
    assert rulebook.zone("dock", day(10, hour=5)) is zone("America/New_York")
    assert rulebook.zone_on("dock", date(2025, 12, 1)) is zone("Europe/London")
    assert rulebook.zone_on("dock", date(2026, 1, 9)) is zone("Europe/London")
    assert rulebook.zone_on("dock", date(2026, 1, 10)) is zone("America/New_York")
    assert rulebook.zone_on("dock", date(2026, 1, 20)) is zone("America/New_York")
    assert rulebook.zone_on("dock", date(2026, 1, 21)) is zone("Europe/Paris")


def test_zone_that_no_file_knows() -> None:
    """A zone that no zone file knows is UTC, so that one bad record stops no answer."""
    rulebook = book(site(day(1), time_zone="Mars/Olympus"))
    assert rulebook.zone("dock", day(2)) is zone("UTC")
    assert rulebook.zone_on("dock", date(2026, 1, 2)) is zone("UTC")


def test_changes() -> None:
    """Changes are the instants within the stretch at which a version of a ref takes effect, each once and in order."""
    rulebook = book(
        site(day(5)),
        site(day(10)),
        site(day(20)),
        model(day(1)),
        model(day(10)),
        item(day(1)),
        item(day(12)),
        task(day(1)),
        task(day(13)),
        instrument(day(1)),
        instrument(day(14)),
        policy(day(15), "clock", {"tolerance": "PT1M"}),
        policy(day(16), "clock", {"tolerance": "PT2M"}, {"site": "dock"}),
    )
    everything = {"site:dock", "model:hood", "item:filter", "task:welding", "instrument:meter", "policy:clock"}
    assert rulebook.changes(everything, day(1), day(30)) == [
        day(10), day(12), day(13), day(14), day(15), day(16), day(20),
    ]  # fmt: skip
    assert rulebook.changes({"site:dock"}, day(10), day(20)) == []
    assert rulebook.changes({"site:dock"}, day(9), day(21)) == [day(10), day(20)]
    assert rulebook.changes({"policy:clock"}, day(1), day(30)) == [day(15), day(16)]
    assert rulebook.changes({"site:other", "person:p-1", "policy:scope"}, day(1), day(30)) == []


def test_traced() -> None:
    """A traced rulebook gives the same answers and remembers each ref asked for, defined or not."""
    plain = book(site(day(1), region="a"), model(day(1)), policy(day(1), "clock", {"tolerance": "PT1M"}))
    traced = Traced(plain)
    assert traced.asked == set()
    assert traced.site("dock", day(2)) is plain.site("dock", day(2))
    assert traced.model("hood", day(2)) is plain.model("hood", day(2))
    assert traced.policy("clock", day(2)) is plain.policy("clock", day(2))
    assert traced.asked == {"site:dock", "model:hood", "policy:clock"}
    assert traced.zone("yard", day(2)) is zone("UTC")
    assert traced.zone_on("quay", date(2026, 1, 2)) is zone("UTC")
    assert traced.first_model("mask") is None
    assert traced.item("filter", day(2)) is None
    assert traced.task("welding", day(2)) is None
    assert traced.instrument("meter", day(2)) is None
    assert traced.asked == {
        "site:dock",
        "site:yard",
        "site:quay",
        "model:hood",
        "model:mask",
        "policy:clock",
        "item:filter",
        "task:welding",
        "instrument:meter",
    }
    assert traced.changes({"site:dock"}, day(1), day(9)) == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"occurred_at": day(22)}, {"occurred_at": day(21)}),
        ({"occurred_on": "2026-01-21"}, {"occurred_at": day(21, hour=23)}),
        ({"occurred_at": day(21), "device": "k-2"}, {"occurred_at": day(21), "device": "k-1"}),
        ({"occurred_at": day(21), "device": "-"}, {"occurred_at": day(21)}),
        ({"occurred_at": day(21), "device": "k", "device_seq": 0}, {"occurred_at": day(21), "device": "k"}),
        (
            {"occurred_at": day(21), "device": "k", "device_seq": 10},
            {"occurred_at": day(21), "device": "k", "device_seq": 9},
        ),
    ],
)
def test_of_versions_that_begin_at_one_moment_the_one_later_in_the_order_of_truth_holds(
    one: dict[str, Any], other: dict[str, Any]
) -> None:
    """By instant, a day at its end, then device, then its counter (R2); not the one recorded last."""
    effect: dict[str, Any] = {"effective_from": day(25)}
    first = site(day(1), region="as it was")
    assert (
        region(
            book(first, site(day(23), region="a", **effect, **one), site(day(24), region="b", **effect, **other)),
            day(26),
        )
        == "a"
    )
