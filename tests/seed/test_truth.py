from collections import Counter, defaultdict
from datetime import datetime

import pytest

from seed.delivery import Delivery
from seed.fates import FATES
from seed.lots import BAD_LOT
from seed.scenario import Scenario
from seed.truth import parts_told


def last_site(logged: list[Delivery]) -> dict[str, str | None]:
    """Say where each unit was seen last."""
    return {str(one.message["asset"]): one.site for one in logged if "asset" in one.message}


def test_each_fate_has_its_units(story: Scenario) -> None:
    """As many units share a fate as its table says."""
    wanted: Counter[str] = Counter()
    for fate in FATES:
        wanted[fate.name] += fate.count
    assert {name: len(tags) for name, tags in story.truth.fates.items()} == dict(wanted)


def test_no_unit_has_two_fates(story: Scenario) -> None:
    """A unit is overdue or not to be used by plan, never both."""
    assert not story.truth.overdue & story.truth.do_not_use
    assert len(story.truth.overdue) == 14
    assert len(story.truth.do_not_use) == 4


@pytest.mark.parametrize(
    ("fate", "kind"),
    [
        ("missing", "missing"),
        ("in-transit", "moved"),
        ("at-service", "sent-to-service"),
        ("put-away", "quarantined"),
        ("ordered-from-a-desk", "quarantined"),
    ],
)
def test_the_last_word_on_a_unit_is_its_fate(story: Scenario, logged: list[Delivery], fate: str, kind: str) -> None:
    """What is told of these units last is what they are meant to end with."""
    last: dict[str, tuple[datetime, str]] = {}
    for one in logged:
        tag = str(one.message.get("asset"))
        told = datetime.fromisoformat(str(one.message["occurred_at"])), str(one.message["kind"])
        last[tag] = max(told, last.get(tag, told))
    assert {last[tag][1] for tag in story.truth.tags(fate)} == {kind}


def test_the_bad_lot_is_on_several_sites(story: Scenario, logged: list[Delivery]) -> None:
    """The lot worth a recall sits in units of at least four sites, in both jurisdictions, and some lots are unknown."""
    sites = last_site(logged)
    holding = Counter(sites[tag] for tag in story.truth.bad_lot)
    assert len(holding) >= 4
    assert {"harrow-dock", "cedar-flats"} <= set(holding)
    assert 25 <= len(story.truth.bad_lot) <= 60
    assert 3 <= len(story.truth.unknown_lot) <= 25


def test_the_bad_lot_was_never_recalled(logged: list[Delivery]) -> None:
    """The demo leaves the recall of the lot to its reader; the one it closed was about another."""
    recalls = [one.message for one in logged if one.message["kind"] == "recall-opened"]
    assert [message["recall"] for message in recalls] == ["rc-tubes"]
    assert BAD_LOT not in str(recalls)


def test_the_bad_lot_came_from_the_shelf(logged: list[Delivery]) -> None:
    """No site fits more pieces of the lot than it received."""
    received: Counter[str | None] = Counter()
    fitted: defaultdict[str | None, int] = defaultdict(int)
    for one in logged:
        if one.message["kind"] == "stock-received" and one.message["lot"] == BAD_LOT:
            received[one.site] += int(str(one.message["quantity"]))
        fitted[one.site] += sum(part.get("lot") == BAD_LOT for part in parts_told(one.message))
    assert len(received) == 5
    assert all(fitted[site] <= count for site, count in received.items())


def test_a_message_tells_its_parts() -> None:
    """Parts stand in `in`, in `part`, or in a list with their positions."""
    filter_in = {"item": "ar-p3", "lot": "R1"}
    assert parts_told({"kind": "filter-replaced", "in": filter_in}) == [filter_in]
    assert parts_told({"kind": "part-identified", "part": filter_in}) == [filter_in]
    assert parts_told({"kind": "repaired", "parts": [{"position": "p", "part": filter_in}]}) == [filter_in]
    assert parts_told({"kind": "checked"}) == []
