"""Duties: policies over profiles, the narrowest scope first, never beyond the law."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from service.domain.duties import (
    acceptance_examined,
    cleaning_duty,
    clock_tolerance,
    examination_duty,
    filter_duty,
    in_store_counts,
    pre_use_duty,
)
from service.domain.kinds.policy_set import PolicySet
from service.domain.period import Period
from service.domain.policies import defaults_of
from service.domain.policy import VALUES, ConfinedProven
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from service.domain.standing import Source
from service.reference.defaults import DEFAULTS
from tests.domain.reference_data import correction, day, model, policy, site

DAY_2 = day(2)
SITE, MODEL, BOTH = {"site": "dock"}, {"model": "hood"}, {"site": "dock", "model": "hood"}
EXAMINATION, CHECK = "thorough-examination", "pre-use-check"


def book(*rows: Recorded, profile: str = "uk", device: str = "powered") -> Rulebook:
    """Build a rulebook with one site of a profile and one model."""
    return Rulebook.build((site(day(1), profile=profile), model(day(1), device=device), *rows))


def interval(rulebook: Rulebook, use: str = "routine", at: datetime = DAY_2) -> str | None:
    """Give the interval of the thorough examination as text."""
    found = examination_duty(rulebook, at, "dock", "hood", use).interval
    return None if found is None else str(found)


def cover(rulebook: Rulebook, at: datetime = DAY_2, where: str = "dock", which: str = "hood") -> str:
    """Give the cover of a check as text."""
    return str(pre_use_duty(rulebook, at, where, which, "routine").cover)


@pytest.mark.parametrize(
    ("profile", "use", "expected", "clause"),
    [
        ("uk", "routine", "P1M", "COSHH 2002 reg 9(3); L5 ACOP: at least once every month"),
        (
            "uk",
            "occasional",
            "P3M",
            "COSHH 2002 reg 9(3); L5 ACOP: where used only occasionally, never over three months",
        ),
        ("uk", "emergency", "P1M", "COSHH 2002 reg 9(3); L5 ACOP: at least once every month"),
        ("uk", "escape", "P1M", "COSHH 2002 reg 9(3); L5 ACOP: at least once every month"),
        ("us", "routine", None, "29 CFR 1910.134(h)(3)(i)(A): before each use and during cleaning, no periodic duty"),
        (
            "us",
            "occasional",
            None,
            "29 CFR 1910.134(h)(3)(i)(A): before each use and during cleaning, no periodic duty",
        ),
        ("us", "emergency", "P1M", "29 CFR 1910.134(h)(3)(i)(B): at least monthly"),
        (
            "us",
            "escape",
            None,
            "29 CFR 1910.134(h)(3)(i)(C): before being carried into the workplace, no periodic duty",
        ),
        ("eu", "routine", None, "EN 529: a schedule after the maker's instructions, no interval"),
        ("au-nz", "routine", None, "no clause on record"),
        ("ca", "routine", None, "no clause on record"),
    ],
)
def test_without_policies(profile: str, use: str, expected: str | None, clause: str) -> None:
    """Without a policy the profile's duty holds, named by its clause, due soon seven days before (R50)."""
    duty = examination_duty(book(profile=profile), DAY_2, "dock", "hood", use)
    assert (str(duty.interval) if duty.interval else None) == expected
    assert duty.source.clause == clause
    assert duty.due_soon == Period(days=7)


def test_device_decides() -> None:
    """A cylinder unit in the US has a monthly duty in routine use too; a model not known counts as powered."""
    rulebook = book(profile="us", device="cylinder")
    assert interval(rulebook) == "P1M"
    assert examination_duty(rulebook, DAY_2, "dock", "other", "routine").interval is None


def test_site_not_known() -> None:
    """A site that is not known sets no duty."""
    duty = examination_duty(book(), DAY_2, "yard", "hood", "routine")
    assert (duty.interval, duty.source) == (None, Source("no clause on record", "none", "unknown"))


def test_narrowest_wins() -> None:
    """A model comes before a site, a site before the organisation, and a model at a site before all (R35)."""
    rows = [
        policy(day(1), CHECK, {"cover": "PT1H"}),
        policy(day(1), CHECK, {"cover": "PT2H"}, SITE),
        policy(day(1), CHECK, {"cover": "PT3H"}, MODEL),
        policy(day(1), CHECK, {"cover": "PT4H"}, BOTH),
    ]
    assert [cover(book(*rows[:count])) for count in range(5)] == ["PT12H", "PT1H", "PT2H", "PT3H", "PT4H"]
    assert [cover(book(*rows[count:])) for count in range(5)] == ["PT4H", "PT4H", "PT4H", "PT4H", "PT12H"]
    everything = book(*rows)
    assert cover(everything, where="yard") == "PT3H"
    assert cover(everything, which="mask") == "PT2H"
    assert cover(everything, where="yard", which="mask") == "PT1H"


def test_value_left_out_keeps_the_next_wider() -> None:
    """A value left out keeps the next wider policy's, then this service's default (R35)."""
    rulebook = book(
        policy(day(1), CHECK, {"cover": "PT8H", "count": "worn"}),
        policy(day(1), CHECK, {"in_use_recheck": "PT4H"}, SITE),
        policy(day(1), CHECK, {"cover": "PT6H"}, MODEL),
    )
    duty = pre_use_duty(rulebook, DAY_2, "dock", "hood", "routine")
    assert (str(duty.cover), duty.count, str(duty.in_use_recheck)) == ("PT6H", "worn", "PT4H")
    assert duty.source.clause == "COSHH 2002 reg 9(5): checked at suitable intervals"


def test_interval_by_use_keeps_the_other_uses() -> None:
    """An interval for one use leaves the other uses to the wider policy, then to the profile (R35)."""
    rulebook = book(
        policy(day(1), EXAMINATION, {"interval": {"routine": "P2W", "occasional": "P2M"}}),
        policy(day(1), EXAMINATION, {"interval": {"routine": "P1W"}}, SITE),
    )
    assert [interval(rulebook, use) for use in ("routine", "occasional", "emergency")] == ["P1W", "P2M", "P1M"]
    one_for_all = book(policy(day(1), EXAMINATION, {"interval": "P2W"}))
    assert [interval(one_for_all, use) for use in ("routine", "occasional", "emergency", "escape")] == ["P2W"] * 4


def test_new_version_of_a_scope_replaces_the_old_one() -> None:
    """What a new version of a scope leaves out is not kept from the old one."""
    rulebook = book(
        policy(day(3), CHECK, {"cover": "PT8H", "count": "worn"}, SITE),
        policy(day(5), CHECK, {"cover": "PT6H"}, SITE),
    )
    counts = [pre_use_duty(rulebook, day(number), "dock", "hood", "routine").count for number in (2, 3, 5)]
    assert [cover(rulebook, day(number)) for number in (2, 3, 4, 5)] == ["PT12H", "PT8H", "PT8H", "PT6H"]
    assert counts == ["working-days", "worn", "working-days"]


@pytest.mark.parametrize(
    ("scope", "expected", "source"),
    [
        (None, None, "29 CFR 1910.134(h)(3)(i)(A)"),
        (SITE, "P3M", "policy"),
        (MODEL, "P3M", "policy"),
        (BOTH, "P3M", "policy"),
    ],
)
def test_only_a_narrow_policy_creates_a_duty(scope: dict[str, str] | None, expected: str | None, source: str) -> None:
    """A duty the profile lacks is created by no organisation-wide policy, but by one for a site or model (R35)."""
    rulebook = book(policy(day(1), EXAMINATION, {"interval": "P3M"}, scope), profile="us")
    duty = examination_duty(rulebook, DAY_2, "dock", "hood", "routine")
    assert interval(rulebook) == expected
    assert duty.source.clause.startswith(source)
    if expected:
        assert duty.source == Source("policy", "in force from 2026-01-01", "policy")


def test_changed_duty_keeps_the_clause() -> None:
    """A duty of the profile that a policy shortens still rests on the law's clause."""
    duty = examination_duty(
        book(policy(day(1), EXAMINATION, {"interval": "P2W"}, SITE)), DAY_2, "dock", "hood", "routine"
    )
    assert (str(duty.interval), duty.source.clause[:20]) == ("P2W", "COSHH 2002 reg 9(3);")


@pytest.mark.parametrize(
    ("profile", "use", "stated", "expected"),
    [
        ("uk", "routine", "P2M", "P1M"),
        ("uk", "routine", "P5W", "P1M"),
        ("uk", "routine", "P30D", "P1M"),  # beyond a month from February
        ("uk", "routine", "P4W", "P4W"),
        ("uk", "occasional", "P4M", "P3M"),
        ("uk", "occasional", "P2M", "P2M"),
        ("us", "emergency", "P2M", "P1M"),
        ("us", "routine", "P2Y", "P2Y"),  # no law, no longest
    ],
)
def test_never_beyond_the_law(profile: str, use: str, stated: str, expected: str) -> None:
    """A policy set before the law reached it counts up to the law's longest (R50)."""
    rulebook = book(policy(day(1), EXAMINATION, {"interval": {use: stated}}, SITE), profile=profile)
    assert interval(rulebook, use) == expected
    clause = examination_duty(rulebook, DAY_2, "dock", "hood", use).source.clause
    assert (clause == "policy") is (profile == "us" and use == "routine")  # the law's clause wherever it sets a duty


def test_profile_in_force_decides() -> None:
    """The profile of the site's version in force decides the duty."""
    rulebook = Rulebook.build((site(day(1), profile="us"), site(day(10), profile="uk"), model(day(1))))
    assert interval(rulebook, at=day(9)) is None
    assert interval(rulebook, at=day(10)) == "P1M"


@pytest.mark.parametrize(
    ("profile", "status", "clause"),
    [
        ("uk", "common-practice", "a respirator is cleaned before it changes wearers"),
        ("us", "read", "29 CFR 1910.134(h)(1)(ii): before another wearer"),
    ],
)
def test_cleaning(profile: str, status: str, clause: str) -> None:
    """A unit is cleaned between wearers unless a policy drops it, and each occasion has its clause."""
    drop = policy(day(1), "cleaning", {"between_wearers": False})
    duty = cleaning_duty(book(profile=profile), DAY_2, "dock", "hood")
    assert (duty.between_wearers, duty.source.status, duty.source.clause) == (True, status, clause)
    assert cleaning_duty(book(drop, profile=profile), DAY_2, "dock", "hood").between_wearers is False


def test_cleaning_after_special_use() -> None:
    """After emergency, training and fit-test use the US asks for cleaning by clauses of their own."""
    sources = cleaning_duty(book(profile="us"), DAY_2, "dock", "hood").sources
    assert sources["emergency"].clause == "29 CFR 1910.134(h)(1)(iii): after each emergency use"
    assert sources["training"].clause == "29 CFR 1910.134(h)(1)(iv): after each fit test and training use"
    assert sources["fit-test"] == sources["training"]


def test_settings_without_policies() -> None:
    """Where nothing is set this service's own choices hold."""
    rulebook = book()
    duty = pre_use_duty(rulebook, DAY_2, "dock", "hood", "routine")
    assert (str(duty.cover), duty.count, duty.in_use_recheck) == ("PT12H", "working-days", None)
    assert filter_duty(rulebook, DAY_2, "dock", "hood").due_soon == Period(days=7)
    assert in_store_counts(rulebook, DAY_2, "dock", "hood") is False
    assert acceptance_examined(rulebook, DAY_2, "dock", "hood") is False
    assert clock_tolerance(rulebook, DAY_2, "dock") == timedelta(minutes=5)
    assert rulebook.policy("protection", DAY_2).values == {
        "equality_suffices": True,
        "tasks_required": False,
        "confined_proven": None,
    }
    assert rulebook.policy("clock", DAY_2).source == "default"
    assert rulebook.policy("clock", DAY_2).events == ()


def test_settings_with_policies() -> None:
    """Each policy sets its own values."""
    proven = {"person": "p-9", "reason": "tested daily"}
    rows = [
        policy(day(1), EXAMINATION, {"due_soon": "P10D"}),
        policy(day(1), "filter-life", {"due_soon": "P14D"}),
        policy(day(1), "scope", {"in_store": True}),
        policy(day(1), "acceptance", {"examination": True}),
        policy(day(1), "clock", {"tolerance": "PT2M"}),
        policy(day(1), "protection", {"equality_suffices": False, "tasks_required": True, "confined_proven": proven}),
        policy(day(1), "service-level", {"level": 0.95}),
        policy(day(1), "order-cap", {"amount": "5000", "currency": "GBP"}),
    ]
    rulebook = book(*rows)
    assert examination_duty(rulebook, DAY_2, "dock", "hood", "routine").due_soon == Period(days=10)
    assert filter_duty(rulebook, DAY_2, "dock", "hood").due_soon == Period(days=14)
    assert in_store_counts(rulebook, DAY_2, "dock", "hood") is True
    assert acceptance_examined(rulebook, DAY_2, "dock", "hood") is True
    assert clock_tolerance(rulebook, DAY_2, None) == timedelta(minutes=2)
    assert rulebook.policy("protection", DAY_2).values == {
        "equality_suffices": False,
        "tasks_required": True,
        "confined_proven": ConfinedProven(person="p-9", reason="tested daily"),
    }
    assert rulebook.policy("service-level", DAY_2).values == {"level": 0.95}
    assert rulebook.policy("order-cap", DAY_2).values["currency"] == "GBP"
    assert rulebook.policy("clock", DAY_2).source == "policy"
    assert rulebook.policy("clock", DAY_2).events == (rows[4].event.id,)


def test_policy_holds_for_no_earlier_time() -> None:
    """Unlike a site's first version a first policy holds for no earlier time, unless it is a correction (R5)."""
    plain = book(policy(day(10), CHECK, {"cover": "PT8H"}))
    assert [cover(plain, day(number)) for number in (9, 10)] == ["PT12H", "PT8H"]
    corrected = book(policy(day(10), CHECK, {"cover": "PT8H"}, **correction(day(5))))
    assert [cover(corrected, day(number)) for number in (4, 5)] == ["PT12H", "PT8H"]


def test_settings_are_worked_out_once() -> None:
    """Sites that no policy names share one setting, so that two hundred thousand units ask for few."""
    rulebook = book(policy(day(1), CHECK, {"cover": "PT8H"}), policy(day(3), CHECK, {"cover": "PT7H"}, SITE))
    assert rulebook.policy(CHECK, day(2), "quay", "hood") is rulebook.policy(CHECK, day(2), "yard", "mask")
    assert rulebook.policy(CHECK, day(4), "dock", "hood") is not rulebook.policy(CHECK, day(4), "yard", "mask")
    assert rulebook.policy(CHECK, day(4), "quay", "hood") is rulebook.policy(CHECK, day(5), "yard", "mask")


@pytest.mark.parametrize("name", list(VALUES))
def test_every_policy_has_defaults(name: str) -> None:
    """Each value of each policy has a default, but the interval, which is the law's."""
    assert set(defaults_of(name)) == set(VALUES[name]) - {"interval"}
    assert Rulebook.build(()).policy(name, DAY_2).values == defaults_of(name)


def test_no_more_defaults_than_policies() -> None:
    """The defaults speak of no policy that cannot be set."""
    assert set(DEFAULTS) == set(VALUES)
    assert defaults_of("other") == {}


def test_given_names_the_policy() -> None:
    """A setting says which policy gave each value, and whether its scope is narrow."""
    wide: dict[str, Any] = {"cover": "PT8H"}
    rows = [policy(day(1), CHECK, wide), policy(day(1), CHECK, {"count": "worn"}, SITE)]
    given = book(*rows).policy(CHECK, DAY_2, "dock", "hood").given
    assert {name: (found.policy.event.id, found.narrow) for name, found in given.items()} == {
        "cover": (rows[0].event.id, False),
        "count": (rows[1].event.id, True),
    }
    assert all(isinstance(found.policy.event, PolicySet) for found in given.values())
