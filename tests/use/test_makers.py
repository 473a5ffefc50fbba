"""Units that are one if their models are of one maker hang together whatever is recorded first."""

from dataclasses import replace
from itertools import permutations
from typing import Any

import pytest

from service.ledger import Ledger
from tests.oracle.firm import PACK, PLAIN, defined, register
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import log_of, post, post_together
from tests.use.rivals import Race, race
from tests.use.test_swapped import KINS, rows
from tests.use.test_waiting import named

__all__ = ["race"]

UNITS = "SELECT tag FROM ledger.unit WHERE organisation = %s ORDER BY tag"
LEFT = {True: [("B-1",)], False: [("A-1",), ("B-1",)]}
KNOWN = "SELECT event::text FROM ledger.finding WHERE organisation = %s AND reasons = 'serial-known'"
TOGETHER, APART = [(["A-1", "B-1"],)], [(["A-1"],), (["B-1"],)]

HOOD_UNIT = register("2026-01-05 08:00", "A-1", serial="n-1")
PACK_UNIT = register("2026-01-06 08:00", "B-1", serial="N-1", model="pack")
OURS, OTHERS = "Invented Air", "Invented Power"


def pack(maker: str | None, received: str, **fields: Any) -> Posted:
    """Define the pack."""
    return defined("model-defined", received, **PACK | {"maker": maker}, **fields)


def firm(maker: str | None) -> list[Posted]:
    """Set up the firm, the pack of a maker."""
    rest = [one for one in PLAIN if one.message.get("model") != "pack"]
    return named([pack(maker, "2025-01-01 00:00"), *rest])


def take_back(one: Posted, received: str) -> Posted:
    """Void a message."""
    return say("voided", received, "adm", event=one.message["id"], reason="typed wrong")


def again(first: str | None, then: str | None) -> list[Posted]:
    """Register two units of a serial number, take the pack back and define it again."""
    defined_first, *_ = firm(first)
    return named(
        [HOOD_UNIT, PACK_UNIT, take_back(defined_first, "2026-01-07 08:00"), pack(then, "2026-01-08 08:00")], 500
    )


async def told_of(owner_url: str) -> tuple[list[tuple[Any, ...]], list[tuple[Any, ...]]]:
    """Give the tags of each kin, and the units."""
    return await rows(owner_url, KINS), await rows(owner_url, UNITS)


@pytest.mark.parametrize("order", [*permutations(range(4))][::4], ids=lambda order: "".join(map(str, order)))
@pytest.mark.parametrize(("first", "then"), [(OURS, OTHERS), (OTHERS, OURS)])
async def test_of_a_model_taken_back_and_defined_again(
    first: str, then: str, order: tuple[int, ...], ledger: Ledger, owner_url: str
) -> None:
    """Two units are one if their models are of one maker now; they hang together if those ever were."""
    base, told = firm(first), again(first, then)
    await post(ledger, base)
    receipts = await post(ledger, [told[nth] for nth in order])
    assert {receipt.status for receipt in receipts} <= {201, 422}  # a unit waits for its model
    assert len(await log_of(ledger)) == len([*base, *told])
    assert await told_of(owner_url) == (TOGETHER, LEFT[then == OURS])


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize(("first", "then"), [(OURS, None), (None, OURS), ("pack", None)])
async def test_in_one_batch_they_find_each_other(
    first: str | None, then: str | None, ledger: Ledger, owner_url: str, *, backwards: bool
) -> None:
    """What is told in one call hangs together as if it was told one by one; a model without a maker stands for it."""
    await post(ledger, firm(first))
    told = [replace(one, received_at=moment("2026-01-08 08:00")) for one in again(first, then)]
    receipts = await post_together(ledger, told[::-1] if backwards else told)
    assert {receipt.status for receipt in receipts} == {201}
    ever = OURS in {first, then}
    assert await told_of(owner_url) == (TOGETHER if ever else APART, LEFT[then == OURS])


@pytest.mark.parametrize("then", [OURS, OTHERS])
async def test_a_maker_corrected_from_the_beginning_makes_them_one(then: str, ledger: Ledger, owner_url: str) -> None:
    """The first version of a model says whose its units are, even if recorded after them; a later one does not."""
    await post(ledger, firm(OTHERS if then == OURS else None))
    earlier = {"effective_from": "2024-01-01T00:00:00+00:00", "correction": True, "reason": "typed wrong"}
    corrected, later = pack(then, "2026-01-08 08:00", **earlier), pack("Yet Others", "2026-01-09 08:00")
    await post(ledger, named([HOOD_UNIT, PACK_UNIT, corrected, later], 500))
    assert await told_of(owner_url) == (TOGETHER if then == OURS else APART, LEFT[then == OURS])


@pytest.mark.parametrize("order", [(0, 1, 2), (0, 2, 1), (2, 0, 1)], ids=("before", "after", "last"))
async def test_a_registration_that_was_taken_back_hangs_together_with_the_next(
    order: tuple[int, ...], ledger: Ledger, owner_url: str
) -> None:
    """It may be restored: what is told of its serial number is one kin whenever it was taken back."""
    await post(ledger, firm(OURS))
    [wrong, right] = named([HOOD_UNIT, PACK_UNIT], 500)
    told = [wrong, *named([take_back(wrong, "2026-01-07 08:00")], 600), right]
    await post(ledger, [told[nth] for nth in order])
    assert await told_of(owner_url) == (TOGETHER, [("B-1",)])


@pytest.mark.parametrize("before", ["reach_others", "write"])
@pytest.mark.parametrize("theirs", [HOOD_UNIT, PACK_UNIT], ids=("a hood", "a pack"))
async def test_registered_at_the_same_time_they_find_each_other(
    theirs: Posted, before: str, race: Race, ledger: Ledger, owner_url: str
) -> None:
    """What another process records while a unit is placed, or judged, is seen: it is decided anew, as one kin."""
    await post(ledger, firm(OURS))
    [ours, theirs] = named([PACK_UNIT if theirs is HOOD_UNIT else HOOD_UNIT, theirs], 500)
    receipt, [other] = await race(ours, [theirs], before)
    assert (receipt.status, other.status) == (201, 201)
    assert await told_of(owner_url) == (TOGETHER, [("B-1",)])


@pytest.mark.parametrize("before", ["reach_others", "write"])
@pytest.mark.parametrize("first", ["definition", "unit"])
@pytest.mark.parametrize("unit", [HOOD_UNIT, PACK_UNIT], ids=("of the maker", "of the model"))
async def test_told_at_the_same_time_they_find_each_other(
    first: str, before: str, unit: Posted, race: Race, ledger: Ledger, owner_url: str
) -> None:
    """A unit that another process records while its model gets the maker is found: who comes second decides anew."""
    await post(ledger, firm(OTHERS))
    earlier = {"effective_from": "2024-01-01T00:00:00+00:00", "correction": True, "reason": "typed wrong"}
    known, new, definition = named(
        [PACK_UNIT if unit is HOOD_UNIT else HOOD_UNIT, unit, pack(OURS, "2026-01-08 08:00", **earlier)], 500
    )
    await post(ledger, [known])
    ours, theirs = (definition, new) if first == "definition" else (new, definition)
    receipt, [other] = await race(ours, [theirs], before)
    assert (receipt.status, other.status) == (201, 201)
    assert await told_of(owner_url) == (TOGETHER, [("B-1",)])


@pytest.mark.parametrize("backwards", [False, True])
async def test_told_in_one_batch_the_component_that_came_later_is_known(
    ledger: Ledger, owner_url: str, *, backwards: bool
) -> None:
    """A component of a unit is that unit by its serial number: what is found of the later one is what a rebuild finds.

    The unit that it is fitted to comes with it in one batch.
    """
    await post(ledger, firm(OURS))
    component = register("2026-02-09 09:00", "D-2", model="pack", serial="cell-1", fitted_to="A-3")
    host = register("2026-01-06 08:00", "A-3", serial="cell-1")
    together = [replace(one, received_at=component.received_at) for one in named([component, host], 500)]
    receipts = await post_together(ledger, together[::-1] if backwards else together)
    assert {receipt.status for receipt in receipts} == {201}
    assert await rows(owner_url, KINS) == [(["A-3", "D-2"],)]
    assert await rows(owner_url, KNOWN) == [(together[0].message["id"],)]
