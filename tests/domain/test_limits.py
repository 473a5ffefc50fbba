"""Reference data that is turned away when it is posted, with the field and, where it is the law, the clause."""

from typing import Any

import pytest

from service.domain.event import ReferenceEvent
from service.domain.limits import Refusal, refusal
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from tests.domain.reference_data import day, model, policy, site

SITE = {"site": "dock"}
EXAMINATION, CHECK = "thorough-examination", "pre-use-check"
UK = "COSHH 2002 reg 9(3); L5 ACOP: at least once every month"
UKO = "COSHH 2002 reg 9(3); L5 ACOP: where used only occasionally, never over three months"
US = "29 CFR 1910.134(h)(3)(i)(B): at least monthly"


def asked(posted: Recorded, *known: Recorded) -> Refusal | None:
    """Ask whether an event is turned away."""
    assert isinstance(posted.event, ReferenceEvent)
    return refusal(posted.event, Rulebook.build(known))


def of_policy(name: str, values: dict[str, Any], *known: Recorded, **more: Any) -> Refusal | None:
    """Ask of a policy with a reason."""
    return asked(policy(day(2), name, values, **({"reason": "agreed"} | more)), *known)


@pytest.mark.parametrize(
    ("profile", "interval", "pointer", "start", "end", "clause"),
    [
        ("uk", {"routine": "P2M"}, "/routine", "P2M is longer", "routine use: at most P1M", UK),
        ("uk", {"routine": "P30D"}, "/routine", "P30D is longer", "routine use: at most P1M", UK),
        ("uk", {"emergency": "P5W"}, "/emergency", "P5W is longer", "emergency use: at most P1M", UK),
        ("uk", {"escape": "P2M"}, "/escape", "P2M is longer", "escape use: at most P1M", UK),
        ("uk", {"occasional": "P4M"}, "/occasional", "P4M is longer", "occasional use: at most P3M", UKO),
        ("uk", "P3M", "", "P3M is longer", "routine use: at most P1M", UK),
        ("us", {"emergency": "P2M"}, "/emergency", "P2M is longer", "emergency use: at most P1M", US),
    ],
)  # fmt: skip
def test_beyond_the_law(profile: str, interval: Any, pointer: str, start: str, end: str, clause: str) -> None:
    """An interval beyond the profile's longest for its use is turned away with the clause (R50)."""
    known = (site(day(1), profile=profile), model(day(1)))
    for scope in (None, SITE, {"model": "hood"}):
        found = of_policy(EXAMINATION, {"interval": interval}, *known, scope=scope)
        assert found == Refusal(f"/values/interval{pointer}", f"{start} than the law allows for {end}", clause)


@pytest.mark.parametrize(
    ("profile", "interval"),
    [
        ("uk", {"routine": "P1M", "emergency": "P4W", "occasional": "P3M", "escape": "P28D"}),
        ("uk", "P1W"),
        ("us", {"routine": "P2Y", "escape": "P2Y", "occasional": "P2Y", "emergency": "P1M"}),
        ("eu", "P2Y"),
    ],
)
def test_within_the_law(profile: str, interval: Any) -> None:
    """An interval up to the longest is accepted, and any where no law sets one."""
    assert of_policy(EXAMINATION, {"interval": interval}, site(day(1), profile=profile), model(day(1))) is None


def test_law_of_the_sites_in_reach() -> None:
    """A policy is measured by the laws of the sites and the devices it reaches, as they are defined last."""
    uk, us = site(day(1), "dock"), site(day(1), "yard", profile="us")
    yearly = {"interval": {"routine": "P1Y"}}
    assert of_policy(EXAMINATION, yearly, uk, us) is not None
    assert of_policy(EXAMINATION, yearly, uk, us, scope={"site": "yard"}) is None
    assert of_policy(EXAMINATION, yearly, uk, us, scope={"site": "dock"}) is not None
    assert of_policy(EXAMINATION, yearly, uk, us, scope={"site": "quay"}) is None
    assert of_policy(EXAMINATION, yearly, site(day(1), "yard"), site(day(3), "yard", profile="us")) is None
    cylinder = model(day(1), "set", device="cylinder")
    assert of_policy(EXAMINATION, yearly, us, model(day(1)), cylinder) is not None
    assert of_policy(EXAMINATION, yearly, us, model(day(1)), cylinder, scope={"model": "hood"}) is None


@pytest.mark.parametrize(
    ("name", "values", "pointer"),
    [
        (EXAMINATION, {"interval": "PT12H"}, "/values/interval"),
        (EXAMINATION, {"interval": {"routine": "P1DT1H"}}, "/values/interval/routine"),
        (CHECK, {"cover": "P1M"}, "/values/cover"),
        (CHECK, {"in_use_recheck": "P1Y"}, "/values/in_use_recheck"),
        ("clock", {"tolerance": "P1M"}, "/values/tolerance"),
    ],
)
def test_periods_that_nothing_can_be_reckoned_with(name: str, values: dict[str, Any], pointer: str) -> None:
    """A period with hours from day to day, or with months to elapse, is turned away at its field."""
    found = of_policy(name, values, site(day(1)))
    assert found is not None
    assert (found.pointer, found.clause) == (pointer, "")


@pytest.mark.parametrize(
    ("name", "values"),
    [
        (EXAMINATION, {"due_soon": "P1M"}),
        (EXAMINATION, {"due_soon": "PT36H"}),
        (CHECK, {"cover": "P1DT12H", "in_use_recheck": "PT4H", "count": "worn"}),
        ("clock", {"tolerance": "PT0S"}),
        ("filter-life", {"due_soon": "P0D"}),
        ("scope", {"in_store": True}),
    ],
)
def test_periods_that_can(name: str, values: dict[str, Any]) -> None:
    """Days and hours elapse, and a warning may come a month before."""
    assert of_policy(name, values, site(day(1))) is None


def test_loosening_needs_a_reason() -> None:
    """A policy that asks for less than law, default or a wider policy needs a reason (design 4)."""
    assert asked(policy(day(2), CHECK, {"count": "worn", "cover": "P1D"})) == Refusal(
        "/reason", "cover, count would ask for less: that needs a reason"
    )
    assert asked(policy(day(2), CHECK, {"cover": "PT8H"})) is None
    assert asked(policy(day(2), CHECK, {"count": "worn"}, reason="racks between jobs")) is None
    wider = policy(day(1), CHECK, {"cover": "PT4H"})
    assert asked(policy(day(2), CHECK, {"cover": "PT8H"}, SITE), wider) is not None
    assert asked(policy(day(2), CHECK, {"cover": "PT8H"}), wider) is None


def test_confined_spaces_have_a_reason_of_their_own() -> None:
    """Who answers for confined spaces is named with a reason in the value itself (R32)."""
    proven = {"confined_proven": {"person": "p-9", "reason": "tested daily"}}
    assert asked(policy(day(2), "protection", proven)) is None


@pytest.mark.parametrize(
    ("lasts", "refused"),
    [
        ("PT8H", False),
        ("P7D", False),
        ("P8D", True),
        ("PT168H", False),
        ("PT169H", True),
        ("P1M", True),
    ],
)
def test_shifts(lasts: str, refused: bool) -> None:
    """A shift lasts at most seven days."""
    shifts = [{"name": "a", "starts": "06:00", "lasts": "PT1H"}, {"name": "b", "starts": "06:00", "lasts": lasts}]
    found = asked(site(day(1), calendar={"working_days": ["mon"], "shifts": shifts}))
    assert (found is not None) is refused
    if found:
        assert found.pointer == "/calendar/shifts/1/lasts"


@pytest.mark.parametrize(
    ("name", "refused"), [("Europe/London", False), ("Mars/Olympus", True), ("europe/london", True)]
)
def test_zones(name: str, refused: bool) -> None:
    """A time zone is one of the database's names."""
    found = asked(site(day(1), time_zone=name))
    assert (found and found.pointer) == ("/time_zone" if refused else None)


def test_other_reference_data() -> None:
    """Models and the like are not measured here."""
    assert asked(model(day(1))) is None
