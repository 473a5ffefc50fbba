"""A component that is swapped into another unit by its serial number is followed there, whatever is recorded first."""

from dataclasses import replace
from itertools import permutations
from typing import Any

import pytest

from service.ledger import Ledger
from service.rebuild import differences
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.oracle.firm import PLAIN, register
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import ORGANISATION, log_of, post, post_together
from tests.use.rebuilt import silent
from tests.use.rivals import Race, race
from tests.use.test_waiting import named

__all__ = ["race"]

HOSTS = [register(tag=tag) for tag in ("A-1", "A-2", "A-3")]
PACK = {"model": "pack", "serial": "cell-1"}
COMPONENT = register("2026-01-05 09:00", "B-1", **PACK, fitted_to="A-1")
BAD = say("quarantined", "2026-03-02 09:00", "p-9", asset="B-1", reason="damage")
STATES = "SELECT tag, do_not_use FROM ledger.unit WHERE organisation = %s ORDER BY tag"
SINCE = """
SELECT min(i.since) FROM ledger.standing_interval i JOIN ledger.unit u USING (organisation, unit)
WHERE i.organisation = %s AND u.tag = 'A-2' AND i.do_not_use
"""
KINS = "SELECT array_agg(tag ORDER BY tag) FROM ledger.kinship WHERE organisation = %s GROUP BY kin ORDER BY 1"


def swap(at: str, tag: str, **parts: Any) -> Posted:
    """Put a battery with the component's serial number in, or take it out."""
    return say("part-replaced", at, "p-9", asset=tag, position="battery", reason="schedule", **parts)


OUT = swap("2026-03-02 10:00", "A-1", out={"serial": "CELL-1 "})
IN = swap("2026-03-02 10:05", "A-2", in_={"item": "cell", "serial": "cell-1", "condition": "refitted"})
ON = swap("2026-03-02 10:30", "A-3", in_={"item": "cell", "serial": "cell-1", "condition": "refitted"})


def whole(posted: list[Posted]) -> list[Posted]:
    """Give messages their fields' names in JSON, and ids that stay theirs in any order."""
    renamed = [replace(one, message={name.rstrip("_"): value for name, value in one.message.items()}) for one in posted]
    return named(renamed, 500)


async def rows(owner_url: str, query: str) -> list[tuple[Any, ...]]:
    """Ask the database, and see that a rebuild would change nothing."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []
        return await (await owner.execute(query, (ORGANISATION,))).fetchall()


@pytest.mark.parametrize("order", [*permutations(range(4))][::2], ids=lambda order: "".join(map(str, order)))
async def test_it_speaks_for_the_unit_it_came_to(order: tuple[int, ...], ledger: Ledger, owner_url: str) -> None:
    """Out of the one and into the other, it makes the other not to be used; those are one kin, a bystander is none."""
    told = whole([COMPONENT, BAD, OUT, IN])
    await post(ledger, named([*PLAIN, *HOSTS]))
    receipts = await post(ledger, [told[nth] for nth in order])
    assert {receipt.status for receipt in receipts} <= {201, 422}  # what tells of it may have to wait for it
    assert len(await log_of(ledger)) == len([*PLAIN, *HOSTS, *told])
    assert dict(await rows(owner_url, STATES)) == {"A-1": False, "A-2": True, "A-3": False, "B-1": True}
    assert await rows(owner_url, KINS) == [(["A-1", "A-2", "B-1"],), (["A-3"],)]


@pytest.mark.parametrize("order", [*permutations(range(4))][::4], ids=lambda order: "".join(map(str, order)))
async def test_by_a_day_alone_it_speaks_for_it_since_that_began(
    order: tuple[int, ...], ledger: Ledger, owner_url: str
) -> None:
    """It may have been there when the unit was checked on that morning, whichever of the two is recorded first."""
    checked = say("checked", "2026-03-02 11:00", "p-1", asset="A-2", wearer="p-1", points={})
    told = whole([COMPONENT, BAD, swap("2026-03-02", "A-2", in_=IN.message["in"]), checked])
    await post(ledger, named([*PLAIN, *HOSTS]))
    await post(ledger, [told[nth] for nth in order])
    assert len(await log_of(ledger)) == len([*PLAIN, *HOSTS, *told])
    assert dict(await rows(owner_url, STATES)) == {"A-1": True, "A-2": True, "A-3": False, "B-1": True}
    assert await rows(owner_url, SINCE) == [(moment("2026-03-02 09:00"),)]


async def test_swaps_alone_join_nothing(ledger: Ledger, owner_url: str) -> None:
    """A part of a serial number that no component has goes from unit to unit; a component of it brings them together.

    So does all of it in one batch, the component last.
    """
    await post(ledger, named([*PLAIN, *HOSTS]))
    told = whole([IN, ON, COMPONENT])
    await post(ledger, told[:2])
    assert await rows(owner_url, KINS) == [(["A-1"],), (["A-2"],), (["A-3"],)]
    await post(ledger, told[2:])
    assert await rows(owner_url, KINS) == [(["A-1", "A-2", "A-3", "B-1"],)]


@pytest.mark.parametrize("backwards", [False, True])
async def test_in_one_batch_they_find_each_other(ledger: Ledger, owner_url: str, *, backwards: bool) -> None:
    """What is told in one call hangs together as if it was told one by one."""
    await post(ledger, named([*PLAIN, *HOSTS]))
    told = [replace(one, received_at=ON.received_at) for one in whole([COMPONENT, IN, ON])]
    receipts = await post_together(ledger, told[::-1] if backwards else told)
    assert {receipt.status for receipt in receipts} == {201}
    assert await rows(owner_url, KINS) == [(["A-1", "A-2", "A-3", "B-1"],)]


@pytest.mark.parametrize("before", ["reach_others", "write"])
@pytest.mark.parametrize("first", ["component", "swap"])
async def test_told_at_the_same_time_they_find_each_other(
    first: str, before: str, race: Race, ledger: Ledger, owner_url: str
) -> None:
    """Two processes that record a component and its swap at once leave one kin: who comes second decides anew."""
    await post(ledger, named([*PLAIN, *HOSTS]))
    component, swapped = whole([COMPONENT, IN])
    ours, theirs = (component, swapped) if first == "component" else (swapped, component)
    receipt, [other] = await race(ours, [theirs], before)

    assert (receipt.status, other.status) == (201, 201)
    assert await rows(owner_url, KINS) == [(["A-1", "A-2", "B-1"],), (["A-3"],)]


async def test_what_is_joined_twice_over_is_told_once(ledger: Ledger, owner_url: str) -> None:
    """A swap and its component in one batch, with bad news of the same unit: each event is folded once."""
    await post(ledger, named([*PLAIN, *HOSTS]))
    again = swap("2026-03-02 10:30", "A-2", out={"serial": "cell-1"})
    bad = say("quarantined", "2026-03-02 10:20", "p-9", asset="A-2", reason="damage")
    told = [replace(one, received_at=ON.received_at) for one in whole([IN, bad, again, COMPONENT])]
    await post(ledger, told[:1])
    receipts = await post_together(ledger, told[1:])
    assert {receipt.status for receipt in receipts} == {201}
    assert await rows(owner_url, KINS) == [(["A-1", "A-2", "B-1"],), (["A-3"],)]
