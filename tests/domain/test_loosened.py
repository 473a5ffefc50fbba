"""Loosened rules: what asks for less than law, default or wider policy, and corrections of the past that do."""

from datetime import datetime
from typing import Any

import pytest

from service.domain.loosened import Loosened, loosened
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from tests.domain.reference_data import correction, day, instrument, item, model, policy, site

DAY_9 = day(9)
SITE, MODEL = {"site": "dock"}, {"model": "hood"}
EXAMINATION, CHECK = "thorough-examination", "pre-use-check"
PROVEN = {"person": "p-9", "reason": "tested daily"}
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
DAY_SHIFT = {"name": "day", "starts": "06:00", "lasts": "PT8H"}
LATE_SHIFT = {"name": "late", "starts": "14:00", "lasts": "PT8H"}


def rows(*recorded: Recorded, profile: str = "uk", as_at: datetime = DAY_9) -> list[Loosened]:
    """List the loosened rules of an organisation with one site and one model."""
    return loosened(Rulebook.build((site(day(1), profile=profile), model(day(1)), *recorded)), as_at)


def values(*recorded: Recorded, profile: str = "uk", as_at: datetime = DAY_9) -> list[tuple[str, ...]]:
    """List the fields loosened."""
    return [row.values for row in rows(*recorded, profile=profile, as_at=as_at)]


def test_nothing_set_nothing_loosened() -> None:
    """Law and defaults loosen nothing."""
    assert rows() == []


@pytest.mark.parametrize(
    ("name", "stated", "loose"),
    [
        (CHECK, {"cover": "PT13H"}, ["cover"]),
        (CHECK, {"cover": "PT12H"}, []),
        (CHECK, {"cover": "PT8H"}, []),
        (CHECK, {"count": "worn"}, ["count"]),
        (CHECK, {"count": "working-days"}, []),
        (CHECK, {"in_use_recheck": "PT4H"}, []),  # more than the default, which is none
        (CHECK, {"cover": "P1D", "count": "worn"}, ["cover", "count"]),
        ("cleaning", {"between_wearers": False}, ["between_wearers"]),
        ("cleaning", {"between_wearers": True}, []),
        ("scope", {"in_store": True}, []),
        ("scope", {"in_store": False}, []),
        ("acceptance", {"examination": True}, []),
        ("clock", {"tolerance": "PT6M"}, ["tolerance"]),
        ("clock", {"tolerance": "PT1M"}, []),
        ("protection", {"equality_suffices": False, "tasks_required": True}, []),
        ("protection", {"equality_suffices": True, "tasks_required": False}, []),
        ("protection", {"confined_proven": PROVEN}, ["confined_proven"]),
        ("filter-life", {"due_soon": "P1D"}, []),  # a warning, no rule
        ("service-level", {"level": 0.1}, []),
        ("order-cap", {"amount": 1, "currency": "GBP"}, []),
        (EXAMINATION, {"due_soon": "P1D"}, []),
        (EXAMINATION, {"interval": "P1M"}, []),
        (EXAMINATION, {"interval": {"occasional": "P3M"}}, []),
        (EXAMINATION, {"interval": {"routine": "P3M"}}, []),  # the law's longest holds
    ],
)
def test_looser_than_default_or_law(name: str, stated: dict[str, Any], loose: list[str]) -> None:
    """A policy is loosened in the values that ask for less than the default or the law."""
    assert values(policy(day(2), name, stated)) == ([tuple(loose)] if loose else [])


@pytest.mark.parametrize(
    ("name", "wide", "narrow", "loose"),
    [
        (CHECK, {"cover": "PT4H"}, {"cover": "PT6H"}, ("cover",)),
        (CHECK, {"in_use_recheck": "PT2H"}, {"in_use_recheck": "PT4H"}, ("in_use_recheck",)),
        ("scope", {"in_store": True}, {"in_store": False}, ("in_store",)),
        ("acceptance", {"examination": True}, {"examination": False}, ("examination",)),
        ("protection", {"tasks_required": True}, {"tasks_required": False}, ("tasks_required",)),
        ("protection", {"equality_suffices": False}, {"equality_suffices": True}, ("equality_suffices",)),
        (EXAMINATION, {"interval": "P2W"}, {"interval": {"routine": "P1M"}}, ("interval/routine",)),
        (EXAMINATION, {"interval": "P2W"}, {"interval": "P3W"}, tuple(
            f"interval/{use}" for use in ("routine", "occasional", "emergency", "escape")
        )),
    ],
)  # fmt: skip
def test_looser_than_a_wider_policy(
    name: str, wide: dict[str, Any], narrow: dict[str, Any], loose: tuple[str, ...]
) -> None:
    """A narrow policy is loosened in the values that ask for less than the wider one, though not less than the law."""
    found = rows(policy(day(2), name, wide), policy(day(3), name, narrow, SITE))
    assert [(row.site, row.values) for row in found] == [("dock", loose)]


def test_tighter_than_a_looser_policy_is_still_loosened() -> None:
    """A narrow policy that takes back only half of a wider one's loosening shows beside it."""
    found = rows(policy(day(2), CHECK, {"cover": "P2D"}), policy(day(3), CHECK, {"cover": "P1D"}, MODEL))
    assert [(row.site, row.model, row.values) for row in found] == [
        (None, None, ("cover",)),
        (None, "hood", ("cover",)),
    ]


def test_creating_a_duty_loosens_nothing() -> None:
    """An interval where the law sets none is no loosening, however long."""
    assert rows(policy(day(2), EXAMINATION, {"interval": {"routine": "P1Y"}}, SITE), profile="us") == []


def test_loosened_under_one_of_several_laws() -> None:
    """A policy over several sites is loosened where it asks for less under the law of one of them."""
    yard = site(day(1), "yard", profile="us")
    wide = policy(day(2), EXAMINATION, {"interval": {"routine": "P2W"}})
    monthly = {"interval": {"routine": "P1M"}}
    assert values(yard, wide, policy(day(3), EXAMINATION, monthly, MODEL)) == [("interval/routine",)]
    assert values(yard, wide, policy(day(3), EXAMINATION, monthly, {"site": "yard"})) == []
    assert values(yard, wide, policy(day(3), EXAMINATION, monthly, {"site": "quay"})) == []


def test_who_answers_and_since_when() -> None:
    """A row names the policy, its scope, who set it, why, since when, and the event it rests on."""
    set_ = policy(day(2), CHECK, {"count": "worn"}, SITE | MODEL, by="p-7", reason="racks between jobs")
    assert rows(set_) == [
        Loosened(
            subject="policy:pre-use-check",
            policy=CHECK,
            site="dock",
            model="hood",
            values=("count",),
            by="p-7",
            reason="racks between jobs",
            since=day(2),
            event=set_.event.id,
            because=(set_.seq,),
        )
    ]


def test_only_while_in_force() -> None:
    """A loosened rule shows from the moment it takes effect until another version of its scope does."""
    set_ = policy(day(2), CHECK, {"count": "worn"}, effective_from=day(5)), policy(day(8), CHECK, {"cover": "PT4H"})
    assert [len(rows(*set_, as_at=day(number))) for number in (2, 4, 5, 7, 8)] == [0, 0, 1, 1, 0]


def test_correction_of_a_policy() -> None:
    """A policy corrected from before its receipt shows where it asks for less than the one it displaced (R5)."""
    strict = policy(day(2), CHECK, {"cover": "PT4H"})
    assert values(strict, policy(day(6), CHECK, {"cover": "PT6H"}, **correction(day(3)))) == [("cover",)]
    assert values(strict, policy(day(6), CHECK, {"cover": "PT2H"}, **correction(day(3)))) == []
    assert values(strict, policy(day(6), CHECK, {"cover": "PT6H"})) == []
    dropped = policy(day(6), CHECK, {"count": "working-days"}, **correction(day(3)))
    assert values(strict, dropped) == [("cover",)]
    assert values(policy(day(6), CHECK, {"cover": "PT6H"}, **correction(day(3)))) == []
    assert (
        values(policy(day(5), CHECK, {"cover": "PT1H"}), policy(day(6), CHECK, {"cover": "PT6H"}, **correction(day(3))))
        == []
    )


def calendar(**fields: Any) -> dict[str, Any]:
    """Give a calendar, every day worked by default."""
    return {"calendar": {"working_days": [*WEEKDAYS, "sat", "sun"], **fields}}


@pytest.mark.parametrize(
    ("before", "after", "loose"),
    [
        (calendar(), calendar(), False),
        (calendar(), calendar(working_days=WEEKDAYS), True),  # 3 and 4 January 2026 are a weekend
        (calendar(working_days=WEEKDAYS), calendar(), False),
        (calendar(), calendar(closed=[{"from": "2026-01-05", "to": "2026-01-05"}]), True),
        (calendar(), calendar(closed=[{"from": "2026-01-20", "to": "2026-01-25"}]), False),  # not in the time gone by
        (calendar(shifts=[DAY_SHIFT, LATE_SHIFT]), calendar(shifts=[DAY_SHIFT]), True),
        (calendar(shifts=[DAY_SHIFT]), calendar(shifts=[DAY_SHIFT, LATE_SHIFT]), False),
        (calendar(shifts=[DAY_SHIFT, LATE_SHIFT]), calendar(), True),  # two uses a day become one
        (calendar(), calendar(shifts=[DAY_SHIFT]), True),  # the rest of the day counts no more
        (calendar(shifts=[DAY_SHIFT]), calendar(), False),
        (calendar(shifts=[DAY_SHIFT]), calendar(shifts=[DAY_SHIFT | {"lasts": "PT6H"}]), True),
        (calendar(shifts=[DAY_SHIFT, LATE_SHIFT]), calendar(shifts=[DAY_SHIFT, LATE_SHIFT | {"lasts": "PT6H"}]), True),
        (calendar(shifts=[DAY_SHIFT]), calendar(shifts=[DAY_SHIFT | {"name": "early"}]), False),
        (calendar(), calendar() | {"opened_on": "2026-01-05"}, True),
        (calendar(), calendar() | {"closed_on": "2026-01-04"}, True),
    ],
)
def test_correction_of_a_calendar(before: dict[str, Any], after: dict[str, Any], loose: bool) -> None:
    """A calendar corrected for days gone by is a loosening where it removes uses (R36)."""
    rulebook = Rulebook.build((site(day(1), **before), site(day(8), **after, **correction(day(3)))))
    found = loosened(rulebook, DAY_9)
    assert [(row.subject, row.site, row.policy, row.values) for row in found] == (
        [("site:dock", "dock", None, ("calendar",))] if loose else []
    )
    from_receipt = Rulebook.build((site(day(1), **before), site(day(8), **after)))
    assert loosened(from_receipt, DAY_9) == []


def test_correction_counts_while_in_force() -> None:
    """A corrected calendar is compared for the days on which it stands, up to the next version."""
    closed = calendar(closed=[{"from": "2026-01-06", "to": "2026-01-06"}])
    corrected = site(day(8), **closed, **correction(day(3)))
    assert loosened(Rulebook.build((site(day(1), **calendar()), site(day(5), **calendar()), corrected)), day(4)) == []
    assert len(loosened(Rulebook.build((site(day(1), **calendar()), corrected)), day(4))) == 1


@pytest.mark.parametrize(("before", "after", "loose"), [("uk", "us", True), ("us", "uk", False), ("eu", "ca", False)])
def test_correction_of_a_profile(before: str, after: str, loose: bool) -> None:
    """A profile corrected to one that examines less is a loosening."""
    rulebook = Rulebook.build((site(day(1), profile=before), site(day(8), profile=after, **correction(day(3)))))
    assert [row.values for row in loosened(rulebook, DAY_9)] == ([("profile",)] if loose else [])


def point(name: str, on_fail: str = "withdraw", *, required: bool = True) -> dict[str, Any]:
    """Give a check point."""
    return {"point": name, "required": required, "on_fail": on_fail}


BATTERY = {"low_percent": 20, "capacity_wh": 64, "end_of_life_percent": 80}
POSITION = {"position": "filter", "role": "particle", "items": ["f"], "required": True}


@pytest.mark.parametrize(
    ("before", "after", "loose"),
    [
        ({"minimum_flow_lpm": 160}, {"minimum_flow_lpm": 160}, []),
        ({"minimum_flow_lpm": 160}, {"minimum_flow_lpm": 150}, ["minimum_flow_lpm"]),
        ({"minimum_flow_lpm": 160}, {"minimum_flow_lpm": 170}, []),
        ({"minimum_flow_lpm": 160}, {}, ["minimum_flow_lpm"]),
        ({}, {"minimum_flow_lpm": 160}, []),
        ({"points": [point("a")]}, {"points": []}, ["points"]),
        ({"points": [point("a")]}, {"points": [point("a", required=False)]}, ["points"]),
        ({"points": [point("a")]}, {"points": [point("a", "recheck")]}, ["points"]),
        ({"points": [point("a", "recheck")]}, {"points": [point("a")]}, []),
        ({"points": [point("a", "recheck")]}, {"points": [point("a", "recheck"), point("b")]}, []),
        ({"points": [point("a", required=False)]}, {"points": []}, []),
        ({"positions": [POSITION]}, {"positions": []}, ["positions"]),
        ({"positions": [POSITION]}, {"positions": [POSITION | {"required": False}]}, ["positions"]),
        ({"positions": []}, {"positions": [POSITION]}, []),
        ({"loading": {"levels": 5, "change_at": 3}}, {"loading": {"levels": 5, "change_at": 4}}, ["loading"]),
        ({"loading": {"levels": 5, "change_at": 3}}, {"loading": {"levels": 5, "change_at": 3}}, []),
        ({"loading": {"levels": 5, "change_at": 3}}, {}, ["loading"]),
        ({"battery": BATTERY}, {"battery": BATTERY | {"low_percent": 10}}, ["battery"]),
        ({"battery": BATTERY}, {"battery": BATTERY | {"end_of_life_percent": 70}}, ["battery"]),
        ({"battery": BATTERY}, {"battery": BATTERY}, []),
        ({"battery": BATTERY}, {"battery": BATTERY | {"low_percent": 30}}, []),
        ({"battery": BATTERY}, {}, ["battery"]),
        ({"service_life_months": 60}, {"service_life_months": 61}, ["service_life_months"]),
        ({"service_life_months": 60}, {"service_life_months": 59}, []),
        ({"service_life_months": 60}, {}, ["service_life_months"]),
    ],
)
def test_correction_of_a_model(before: dict[str, Any], after: dict[str, Any], loose: list[str]) -> None:
    """A model corrected for time gone by is a loosening in what it asks less of."""
    rulebook = Rulebook.build((model(day(1), **before), model(day(8), **after, **correction(day(3)))))
    found = [(row.subject, row.site, row.model, row.values) for row in loosened(rulebook, DAY_9)]
    assert found == ([("model:hood", None, "hood", tuple(loose))] if loose else [])


@pytest.mark.parametrize(
    ("before", "after", "loose"),
    [
        ({"shelf_life_months": 60}, {"shelf_life_months": 61}, ["shelf_life_months"]),
        ({"shelf_life_months": 60}, {"shelf_life_months": 60}, []),
        ({"after_opening_days": 180}, {}, ["after_opening_days"]),
        ({"service_limit": {"days": 30}}, {"service_limit": {"days": 31}}, ["service_limit"]),
        ({"service_limit": {"hours": 30}}, {"service_limit": {"days": 1}}, ["service_limit"]),
        ({"service_limit": {"shifts": 30}}, {}, ["service_limit"]),
        ({}, {"service_limit": {"shifts": 30}}, []),
    ],
)
def test_correction_of_an_item(before: dict[str, Any], after: dict[str, Any], loose: list[str]) -> None:
    """An item corrected for time gone by is a loosening in the limits that are longer or gone."""
    rulebook = Rulebook.build((item(day(1), **before), item(day(8), **after, **correction(day(3)))))
    found = [(row.subject, row.values) for row in loosened(rulebook, DAY_9)]
    assert found == ([("item:filter", tuple(loose))] if loose else [])


@pytest.mark.parametrize(
    ("after", "loose"),
    [
        ({"calibration_due": "2026-12-31"}, False),
        ({"calibration_due": "2027-01-31"}, True),
        ({"calibrated_on": "2025-12-31"}, True),
        ({"calibrated_on": "2026-01-02", "calibration_due": "2026-06-30"}, False),
    ],
)
def test_correction_of_an_instrument(after: dict[str, Any], loose: bool) -> None:
    """A calibration corrected to hold for longer is a loosening."""
    rulebook = Rulebook.build((instrument(day(1)), instrument(day(8), **after, **correction(day(3)))))
    found = [(row.subject, row.values) for row in loosened(rulebook, DAY_9)]
    assert found == ([("instrument:meter", ("calibration",))] if loose else [])


def test_correction_is_measured_by_what_was_known_before_it() -> None:
    """A backdated version is no loosening of one received after it, nor where nothing was known."""
    weekdays = calendar(working_days=WEEKDAYS)
    first = site(day(4), **weekdays, **correction(day(1)))
    assert loosened(Rulebook.build((first,)), DAY_9) == []
    assert loosened(Rulebook.build((first, site(day(8), **calendar(), effective_from=day(12)))), DAY_9) == []


def test_correction_before_the_first_version() -> None:
    """The first version held for all earlier time, so that a version put before it may loosen."""
    weekdays = calendar(working_days=WEEKDAYS)
    rulebook = Rulebook.build((site(day(6), **calendar()), site(day(8), **weekdays, **correction(day(3)))))
    assert [row.values for row in loosened(rulebook, day(5))] == [("calendar",)]
    assert loosened(rulebook, day(7)) == []
    assert loosened(rulebook, day(2)) == []


def test_rows_in_order() -> None:
    """Rows come by subject, then site, then model."""
    found = rows(
        policy(day(2), CHECK, {"count": "worn"}, SITE),
        policy(day(3), CHECK, {"count": "worn"}, MODEL),
        policy(day(4), "clock", {"tolerance": "PT9M"}),
    )
    assert [(row.subject, row.site, row.model) for row in found] == [
        ("policy:clock", None, None),
        ("policy:pre-use-check", None, "hood"),
        ("policy:pre-use-check", "dock", None),
    ]


def test_a_policy_that_repeats_a_wider_one_loosens_nothing() -> None:
    """What asks for as much is not looser."""
    same = {"equality_suffices": False}
    assert values(policy(day(2), "protection", same), policy(day(3), "protection", same, SITE)) == []
