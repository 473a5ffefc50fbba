"""Reference data that is turned away when it is posted, with the field and, where it is the law, the clause."""

from typing import Any

import pytest

from service.domain.codec import decode_stored, encode
from service.domain.event import ReferenceEvent
from service.domain.limits import Refusal, refusals
from service.domain.recorded import Recorded
from service.domain.rulebook import Rulebook
from tests.domain.reference_data import day, instrument, item, model, policy, site

SITE = {"site": "dock"}
EXAMINATION, CHECK = "thorough-examination", "pre-use-check"
UK = "COSHH 2002 reg 9(3); L5 ACOP: at least once every month"
UKO = "COSHH 2002 reg 9(3); L5 ACOP: where used only occasionally, never over three months"
US = "29 CFR 1910.134(h)(3)(i)(B): at least monthly"


def asked(posted: Recorded, *known: Recorded) -> Refusal | None:
    """Ask whether an event is turned away."""
    assert isinstance(posted.event, ReferenceEvent)
    return next(iter(refusals(posted.event, Rulebook.build(known))), None)


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


def test_all_that_is_beyond_the_law_is_named() -> None:
    """Each value is named once, whichever devices it would hold for; so is each that nothing could be judged by."""
    book = Rulebook.build([site(day(1)), model(day(1)), model(day(1), ref="cylinder", device="cylinder")])
    long = policy(day(2), EXAMINATION, {"interval": {"routine": "P2M", "emergency": "P5W"}}, reason="agreed").event
    odd = policy(day(2), EXAMINATION, {"interval": {"routine": "PT2H", "emergency": "PT3H"}}).event
    assert isinstance(long, ReferenceEvent)
    assert isinstance(odd, ReferenceEvent)

    assert [one.pointer for one in refusals(long, book)] == ["/values/interval/routine", "/values/interval/emergency"]
    assert [one.clause for one in refusals(long, book)] == [UK, UK]
    assert [one.pointer for one in refusals(odd, book)] == ["/values/interval/routine", "/values/interval/emergency"]


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
    assert of_policy(EXAMINATION, yearly, us, model(day(1)), cylinder, scope={"model": "set"}) is not None


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


def pointer_of(found: Refusal | None) -> str | None:
    """Give the place of a refusal that no law speaks of."""
    assert found is None or not found.clause
    return found and found.pointer


@pytest.mark.parametrize(
    ("lasts", "refused"),
    [
        ("PT1S", False),
        ("PT8H", False),
        ("PT24H", False),
        ("P1D", False),
        ("PT0S", True),
        ("P0D", True),
        ("PT24H1S", True),
        ("P2D", True),
        ("P1M", True),
    ],
)
def test_shifts(lasts: str, refused: bool) -> None:
    """A shift lasts longer than nothing and at most a day."""
    shifts = [{"name": "a", "starts": "06:00", "lasts": "PT1H"}, {"name": "b", "starts": "06:00", "lasts": lasts}]
    found = asked(site(day(1), calendar={"working_days": ["mon"], "shifts": shifts}))
    assert pointer_of(found) == ("/calendar/shifts/1/lasts" if refused else None)


def test_working_days() -> None:
    """A calendar names a working day: without one no use would ever be counted."""
    assert pointer_of(asked(site(day(1), calendar={"working_days": []}))) == "/calendar/working_days"
    assert asked(site(day(1), calendar={"working_days": ["sun"]}, closed_on="2026-03-02")) is None


@pytest.mark.parametrize(
    ("name", "refused"),
    [
        ("Europe/London", False),
        ("UTC", False),
        ("Etc/GMT+5", False),
        ("Mars/Olympus", True),
        ("europe/london", True),
        ("Factory", True),
        ("localtime", True),
        ("posixrules", True),
    ],
)
def test_zones(name: str, refused: bool) -> None:
    """A time zone is one of the database's names that some place keeps."""
    assert pointer_of(asked(site(day(1), time_zone=name))) == ("/time_zone" if refused else None)


@pytest.mark.parametrize("device", ["powered", "negative-pressure"])
def test_points_of_a_model(device: str) -> None:
    """A model has a point that every check must pass, whatever its device: else any check would be complete."""
    told = {"point": "airflow", "role": "airflow", "on_fail": "withdraw"}
    required, other = told | {"required": True}, {**told, "point": "visor", "required": False}
    assert pointer_of(asked(model(day(1), device=device, points=[]))) == "/points"
    assert pointer_of(asked(model(day(1), device=device, points=[other]))) == "/points"
    assert asked(model(day(1), device=device, points=[other, required])) is None


def test_the_mark_of_the_loading_scale() -> None:
    """A filter is changed at a step of its own, not when it is clean."""
    points = [{"point": "airflow", "role": "airflow", "required": True, "on_fail": "withdraw"}]
    clean, first = ({"levels": 5, "change_at": mark} for mark in (0, 1))
    assert pointer_of(asked(model(day(1), points=points, loading=clean))) == "/loading/change_at"
    assert asked(model(day(1), points=points, loading=first)) is None


def test_what_was_recorded_before_is_still_read() -> None:
    """The stored bytes of a definition that would be turned away today decode as ever."""
    old = model(day(1), points=[]).event
    assert decode_stored(encode(old), "model-defined", 1) == old


def test_other_reference_data() -> None:
    """Items and the like are not measured here."""
    assert asked(item(day(1))) is None
    assert asked(instrument(day(1))) is None


def test_a_zone_that_is_none_is_told_with_an_example() -> None:
    """In one sentence at its field."""
    assert asked(site(day(1), time_zone="Mars/Olympus")) == Refusal(
        "/time_zone", "is no time zone of the IANA database, such as Europe/London"
    )
