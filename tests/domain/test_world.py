from service.domain.caller import KeyHolder
from tests.domain.units import at, fact, unit, world
from tests.oracle.firm import BARE, HOOD, MASK, defined, examine, item, policy, position, site


def test_time_is_cut_where_a_version_begins() -> None:
    """Already by the second version of a site; the first holds for all earlier time and cuts none."""
    second = site("dock", "us", "Europe/London", received=at(1).isoformat())
    third = site("dock", "uk", "Europe/London", received=at(3).isoformat())
    assert world(second, third).cuts(unit(), at(0), at(9)) == [at(1), at(3)]
    assert world(second, third).cuts(unit(), at(0), at(2)) == [at(1)]
    assert world().cuts(unit(), at(-99_999), at(9)) == []


def test_time_is_not_cut_at_its_ends_nor_for_another_unit() -> None:
    """A version that begins with a stretch, or with the next one, cuts nothing in it; one of another site never."""
    second = site("dock", "us", "Europe/London", received=at(1).isoformat())
    assert world(second).cuts(unit(), at(1), at(9)) == []
    assert world(second).cuts(unit(), at(0), at(1)) == []
    assert world(second).cuts(unit(site="mesa"), at(0), at(9)) == []


def test_a_version_that_says_what_held_already_cuts_nothing() -> None:
    """Told again, or with another name alone; one that takes a change back cuts time as the change did."""
    again = site("dock", "uk", "Europe/London", received=at(1).isoformat(), region="north")
    change = site("dock", "us", "Europe/London", received=at(3).isoformat())
    back = site("dock", "uk", "Europe/London", received=at(5).isoformat())
    kept, told = (policy("cleaning", {"between_wearers": False}, at(hours).isoformat()) for hours in (2, 4))
    assert world(again, change, back).cuts(unit(), at(0), at(9)) == [at(3), at(5)]
    assert world(kept, told).cuts(unit(), at(0), at(9)) == [at(2)]


def test_what_a_unit_was_registered_as_before_cuts_time_and_lists_items() -> None:
    """A version of either model may list what sits in it; of a third it says nothing."""
    hood, mask = ({**HOOD, "positions": []}, {**MASK, "positions": [position("gas-filter", "gas", "p9")]})
    there = world(
        *(defined("model-defined", at(hours).isoformat(), **said) for hours, said in ((2, mask), (4, hood))),
        defined("model-defined", at(3).isoformat(), **BARE | {"fit": "loose"}),
    )
    both = unit(former=("mask",))

    assert there.cuts(unit(), at(0), at(9)) == [at(4)]
    assert there.cuts(both, at(0), at(9)) == [at(2), at(4)]
    assert [there.listing(one, at(3)).get("gas-filter") for one in (unit(), both)] == [
        None,
        ("abek", "abek-30", "abek-open", "p9"),
    ]
    assert [there.listing(one, at(1))["battery"] for one in (unit(), both)] == [("cell",), ("cell",)]


def test_a_policy_cuts_time_and_an_item_only_where_it_is_fitted() -> None:
    """What is not in the unit says nothing of it."""
    first = policy("cleaning", {"between_wearers": False}, at(2).isoformat())
    changed = policy("cleaning", {"between_wearers": True}, at(4).isoformat())
    assert world(first, changed).cuts(unit(), at(0), at(9)) == [at(2), at(4)]
    assert world(item("p3", after_opening_days=3)).cuts(unit(), at(0), at(9)) == []


def test_a_competence_that_was_asked_for_is_remembered() -> None:
    """So that the unit is judged again when the person's competences change, known or not."""
    there = world().fresh()
    assert not there.may("examine", fact(examine(at(1).isoformat(), by="p-7"), there), unit())
    assert "examine:p-7" in there.asked


def test_a_key_leads_at_its_sites_and_where_none_is_named() -> None:
    """By its role; one that is bound to no site leads at all of them."""
    lead = KeyHolder("site-lead", frozenset({"dock"}))
    assert [lead.leads(), lead.leads("dock"), lead.leads("mesa")] == [True, True, False]
    assert KeyHolder("manager").leads("mesa")
    assert not KeyHolder("site-app", frozenset({"dock"})).leads()
