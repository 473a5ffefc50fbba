"""What is defined now."""

from service.domain.current import Name, current, name_of, readable
from service.domain.event import ReferenceEvent
from service.domain.recorded import Recorded
from tests.domain.reference_data import day, item, model, policy, site, voided

HERE = frozenset({"dock"})


def said(row: Recorded) -> ReferenceEvent:
    """Give the definition of a row."""
    assert isinstance(row.event, ReferenceEvent)
    return row.event


def test_a_definition_is_named_by_its_reference_and_a_policy_by_its_scope_too() -> None:
    """What is set for a site or a model is a thing of its own."""
    cover = {"cover": "PT8H"}
    assert name_of(said(site(day(1), "dock"))) == Name("dock", "", "")
    assert name_of(said(model(day(1), "hood"))) == Name("hood", "", "")
    assert name_of(said(policy(day(1), "pre-use-check", cover))) == Name("pre-use-check", "", "")
    narrowed = policy(day(1), "pre-use-check", cover, {"site": "dock", "model": "hood"})
    assert name_of(said(narrowed)) == Name("pre-use-check", "dock", "hood")


def test_the_newest_that_was_not_taken_back_counts() -> None:
    """Of each thing one, in the order of the log; other kinds are left out."""
    first, second, other = site(day(1)), site(day(2), name="Dock East"), site(day(1), "yard")
    rows = [first, second, other, item(day(1)), policy(day(1), "scope", {"in_store": True}, {"site": "dock"})]
    assert current(rows, "site-defined") == {Name("dock"): second, Name("yard"): other}
    assert current([*rows, voided(day(3), second)], "site-defined")[Name("dock")] == first
    assert list(current([*rows, voided(day(3), other)], "site-defined")) == [Name("dock")]
    assert list(current(rows, "policy-set")) == [Name("scope", "dock")]


def test_a_key_of_sites_reads_what_is_of_them_and_what_is_of_all() -> None:
    """Other sites and policies for them are not for it; a key of no sites in particular reads everything."""
    values = {"in_store": True}
    rows = [
        site(day(1), "dock"),
        site(day(1), "yard"),
        model(day(1)),
        policy(day(1), "scope", values),
        policy(day(1), "scope", values, {"model": "hood"}),
        policy(day(1), "scope", values, {"site": "dock"}),
        policy(day(1), "scope", values, {"site": "yard", "model": "hood"}),
    ]
    assert [readable(said(row), HERE) for row in rows] == [True, False, True, True, True, True, False]
    assert all(readable(said(row), None) for row in rows)
