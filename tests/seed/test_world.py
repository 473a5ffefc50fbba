from collections import defaultdict
from datetime import datetime
from zoneinfo import ZoneInfo

import msgspec

from seed.delivery import Delivery
from seed.scenario import Scenario
from service.domain.policy import VALUES

NEEDS = {"examined": "examine", "repaired": "repair", "released": "release"}


def of_kind(logged: list[Delivery], kind: str) -> list[dict[str, object]]:
    """List the messages of a kind."""
    return [one.message for one in logged if one.message["kind"] == kind]


def test_there_are_ten_sites_in_two_jurisdictions_and_five_zones(logged: list[Delivery]) -> None:
    """Six sites follow the uk profile in one zone, four the us profile in four zones that exist."""
    zones = defaultdict(set)
    for message in of_kind(logged, "site-defined"):
        zones[message["profile"]].add(message["time_zone"])
    assert zones == {
        "uk": {"Europe/London"},
        "us": {"America/Chicago", "America/New_York", "America/Phoenix", "America/Los_Angeles"},
    }
    assert len({message["site"] for message in of_kind(logged, "site-defined")}) == 10
    assert all(ZoneInfo(str(zone)) for found in zones.values() for zone in found)


def test_all_makers_and_firms_are_the_invented_ones(logged: list[Delivery]) -> None:
    """Nobody is named as maker, employer, supplier or provider but the invented ones."""
    assert {message["maker"] for message in of_kind(logged, "model-defined")} == {"Ardwhin Airworks", "Pelloran Masks"}
    employers = msgspec.convert([m["employer"] for m in of_kind(logged, "site-defined")], list[dict[str, str]])
    assert {employer["name"] for employer in employers} == {
        "Varrowby Fabrication Limited",
        "Varrowby Fabrication Incorporated",
    }
    assert {message["supplier"] for message in of_kind(logged, "order-placed")} == {"group-stores"}
    assert {message["provider"] for message in of_kind(logged, "sent-to-service")} == {"workshop-north"}


def test_what_is_referred_to_is_defined(logged: list[Delivery]) -> None:
    """Each model, site, instrument, task and item in a message has been defined."""
    for name in ("model", "site", "instrument", "task", "item"):
        defined = {message[name] for message in of_kind(logged, f"{name}-defined")}
        assert {one.message[name] for one in logged if name in one.message} <= defined


def test_each_of_several_versions_says_from_when(logged: list[Delivery]) -> None:
    """A site or an instrument with several versions has each of them bite from a moment of its own (R5)."""
    for name in ("site", "instrument"):
        since: defaultdict[object, list[object]] = defaultdict(list)
        for message in of_kind(logged, f"{name}-defined"):
            since[message[name]].append(message.get("effective_from"))
        several = [found for found in since.values() if len(found) > 1]
        assert several
        assert all(None not in found and len(set(found)) == len(found) for found in several)


def test_units_are_registered_before_they_are_spoken_of(logged: list[Delivery]) -> None:
    """The first thing that happened to each tag is its registration, or the retagging that made it."""
    known = {str(message["new_tag"]) for message in of_kind(logged, "retagged")}
    first: dict[str, tuple[datetime, str]] = {}
    for one in logged:
        if "asset" in one.message:
            told = datetime.fromisoformat(str(one.message["occurred_at"])), str(one.message["kind"])
            tag = str(one.message["asset"])
            first[tag] = min(told, first.get(tag, told))
    assert {tag for tag, (_, kind) in first.items() if kind != "registered"} <= known
    assert sum(kind == "registered" for _, kind in first.values()) == 400


def test_nobody_grants_themselves_a_competence(logged: list[Delivery]) -> None:
    """Every training is posted by somebody else (R49)."""
    assert all(message["by"] != message["person"] for message in of_kind(logged, "trained"))


def test_examiners_repairers_and_releasers_are_competent_by_then(logged: list[Delivery]) -> None:
    """Who examines, repairs or releases was trained for it before, but for the one unit meant otherwise."""
    granted: dict[tuple[str, str], list[tuple[datetime, str | None]]] = defaultdict(list)
    for message in of_kind(logged, "trained"):
        for competence in msgspec.convert(message["competences"], list[str]):
            until = str(message["valid_until"]) if "valid_until" in message else None
            at = datetime.fromisoformat(str(message["occurred_at"]))
            granted[str(message["person"]), competence].append((at, until))
    without = []
    for kind, competence in NEEDS.items():
        for message in of_kind(logged, kind):
            at = datetime.fromisoformat(str(message["occurred_at"]))
            proofs = granted[str(message["by"]), competence]
            if not any(since < at and (until is None or at.date().isoformat() <= until) for since, until in proofs):
                without.append(message["asset"])
    assert len(without) == 1


def test_those_without_competence_are_the_ones_meant(story: Scenario) -> None:
    """One unit of the site whose examiner's competence ran out is marked for it."""
    assert len(story.truth.tags("examined-without-competence")) == 1


def test_nobody_voids_their_own_bad_news(logged: list[Delivery]) -> None:
    """A report of a failure is voided by another person than posted it (R27)."""
    by = {str(one.message["id"]): one.message for one in logged}
    voided = [(message, by[str(message["event"])]) for message in of_kind(logged, "voided")]
    failures = [(message, target) for message, target in voided if target["kind"] != "voided"]
    assert len(failures) > 10
    assert all(message["by"] != target["by"] for message, target in failures)


def test_policies_have_the_values_their_names_allow(logged: list[Delivery]) -> None:
    """Every policy sets values of its own, with a reason and from when; one asks for less than the profile."""
    policies = of_kind(logged, "policy-set")
    assert all(set(msgspec.convert(p["values"], dict[str, object])) <= set(VALUES[str(p["policy"])]) for p in policies)
    assert all(p["correction"] and p["reason"] and p["effective_from"] for p in policies)
    assert len(policies) == 10
