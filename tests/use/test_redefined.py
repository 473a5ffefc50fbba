"""Definitions sent again: what alters no rule judges no unit again, and what does judges those that went by it."""

from typing import Any

import pytest

from service.ledger import Ledger
from service.rebuild import differences
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.oracle.firm import FIRM, HOOD, defined, policy, site
from tests.oracle.posting import Posted, say
from tests.use.posting import ORGANISATION, post
from tests.use.rebuilt import silent
from tests.use.test_waiting import named, unit

LATER = "2026-03-10 12:00"
ITEM: dict[str, Any] = {"item": "p3", "service_limit": {"days": 3}}
FITTED = "2026-03-02 07:00"
KINS = "SELECT kin, version FROM ledger.kin WHERE organisation = %s ORDER BY kin"


def fitted() -> list[Posted]:
    """Set up the firm, and issue a unit with a filter that lasts three days of service."""
    swap: dict[str, Any] = {
        "position": "particle-filter",
        "in_": {"item": "p3", "condition": "new"},
        "reason": "schedule",
    }
    return [
        *named(FIRM),
        *named([item("2026-03-01 00:00")], 700),
        unit(),
        *named([say("filter-replaced", FITTED, asset="W-1", **swap), issued()], 800),
    ]


def issued() -> Posted:
    """Issue the unit to a person."""
    return say("issued", "2026-03-02 08:00", asset="W-1", holder={"person": "p-1"})


def item(received: str, **fields: Any) -> Posted:
    """Define the filter, with fields that differ."""
    said = {"name": "Filter", "unit": "piece", **ITEM, **fields}
    return say("item-defined", received, "adm", received=received, **said)


async def kins(owner_url: str) -> tuple[list[tuple[str, int]], list[object]]:
    """Give the version of every kin, and what a rebuild would write otherwise."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        versions = await (await owner.execute(KINS, [ORGANISATION])).fetchall()
        return [(kin, version) for kin, version in versions], list(await differences(owner, ORGANISATION, silent))


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"name": "Another name", "price": "18.40", "currency": "GBP", "lead_time_days": 3},
        {"effective_from": "2026-03-20T00:00:00+00:00"},
        {"effective_from": "2026-03-02T07:30:00+00:00", "correction": True, "reason": "told late"},
    ],
    ids=("as it stands", "told to people alone", "from a later day", "from an earlier day"),
)
async def test_what_alters_no_rule_judges_nothing_again(fields: dict[str, Any], ledger: Ledger, owner_url: str) -> None:
    """A filter defined as it is leaves its unit unwritten, and a rebuild, which judges it anew, finds it as it is."""
    assert [one.problem for one in await post(ledger, fitted()) if one.status != 201] == []
    before, differing = await kins(owner_url)
    assert ([kin for kin, _ in before], differing) == (["W-1"], [])
    [receipt] = await post(ledger, named([item(LATER, **fields)], 900))
    assert receipt.status == 201
    assert await kins(owner_url) == (before, [])


@pytest.mark.parametrize(
    "again",
    [
        site("dock", "uk", "Europe/London", received=LATER, effective_from="2026-03-20T00:00:00+00:00"),
        defined("model-defined", LATER, **HOOD, effective_from="2026-03-20T00:00:00+00:00"),
        policy("pre-use-check", {"count": "worn"}, LATER),
    ],
    ids=("the site", "the model", "a policy"),
)
async def test_what_was_told_of_a_time_to_come_rests_on_no_version_that_says_the_same(
    again: Posted, ledger: Ledger, owner_url: str
) -> None:
    """How a unit in store will stand is told without an end, whenever its site, model or rules are told once more."""
    await post(ledger, [*named(FIRM), unit()])
    before, differing = await kins(owner_url)
    assert ([kin for kin, _ in before], differing) == (["W-1"], [])
    [receipt] = await post(ledger, named([again], 900))
    assert receipt.status == 201
    assert await kins(owner_url) == (before, [])


@pytest.mark.parametrize(
    "fields",
    [{"service_limit": {"days": 2}}, {"shelf_life_months": 1}, {"service_limit": None}],
    ids=("shorter", "with a shelf life", "without a limit"),
)
async def test_what_alters_a_rule_judges_again(fields: dict[str, Any], ledger: Ledger, owner_url: str) -> None:
    """A filter that lasts otherwise has its unit written anew, as a rebuild would write it."""
    await post(ledger, fitted())
    [(kin, version)], _ = await kins(owner_url)
    await post(ledger, named([item(LATER, **fields)], 900))
    [(again, newer)], differing = await kins(owner_url)
    assert (again, newer > version, differing) == (kin, True, [])


async def test_what_held_again_before_a_change_alters_something_once_the_change_is_voided(
    ledger: Ledger, owner_url: str
) -> None:
    """Of two versions alike the voiding of one judges nothing again; that of the other between them does."""
    await post(ledger, fitted())
    same, other = named([item(LATER), item("2026-03-11 12:00", service_limit={"days": 2})], 900)
    await post(ledger, [same, other])
    before, _ = await kins(owner_url)
    gone, taken = (
        say("voided", "2026-03-12 12:00", "adm", event=one.message["id"], reason="typed twice") for one in (same, other)
    )
    [receipt] = await post(ledger, named([gone], 950))
    assert (receipt.status, await kins(owner_url)) == (201, (before, []))
    await post(ledger, named([taken], 951))
    after, differing = await kins(owner_url)
    assert (after != before, differing) == (True, [])
