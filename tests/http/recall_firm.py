"""A firm that recalls a lot of filters: units that have it, had it, may have it and never did, at two sites."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, Message, ago, issued, message, model, post, registered, site

BAD = "L2411"
LOT = {"item": "pf-170", "lot": BAD}
BATTERY = {"position": "battery", "part": {"item": "bat-64", "condition": "new"}}


def hood(tag: str, lot: str | None, **fields: Any) -> Message:
    """Register a hood whose filter is of a lot, thirty hours ago."""
    part = {"item": "pf-170", "condition": "new"} | ({} if lot is None else {"lot": lot})
    return registered(tag, parts=[{"position": "particle-filter", "part": part}, BATTERY], **fields)


def fitted(tag: str, lot: str | None, **fields: Any) -> Message:
    """Put a filter of a lot into a unit, two hours ago."""
    part = {"item": "pf-170", "condition": "new"} | ({} if lot is None else {"lot": lot}) | fields.pop("part", {})
    said = {"position": "particle-filter", "in": part, "reason": "recall", "occurred_at": ago(hours=2)}
    return message("filter-replaced", asset=tag, **(said | fields))


def swap(tag: str, at: dict[str, float], lot: str | None, **fields: Any) -> Message:
    """Put a filter of a lot into a unit so long ago."""
    return fitted(tag, lot, occurred_at=ago(**at), **fields)


def opened(at: dict[str, float], recall: str = "rc-1", **fields: Any) -> Message:
    """Open a recall of the lot."""
    said = {"recall": recall, "action": "stop-use", "criteria": [LOT], "occurred_at": ago(**at)}
    return message("recall-opened", **(said | fields))


def closed(*tags: str, recall: str = "rc-1", **at: float) -> Message:
    """Close the recall, with a reason for units."""
    reasons = [{"asset": tag, "reason": "in a container at sea"} for tag in tags]
    return message("recall-closed", recall=recall, occurred_at=ago(**at), outstanding=reasons)


def stopped(tag: str, at: dict[str, float], recall: str = "rc-1", **fields: Any) -> Message:
    """Withdraw a unit for a recall, from a desk if no place is given."""
    return message("quarantined", asset=tag, occurred_at=ago(**at), reason="recall", recall=recall, **fields)


def stocked(quantity: float, lot: str | None = BAD, where: str = "harrow-dock", **fields: Any) -> Message:
    """Count a lot in stock."""
    said = {"site": where, "item": "pf-170", "quantity": quantity, "unit": "each"} | (
        {} if lot is None else {"lot": lot}
    )
    return message("stock-counted", **(said | {"occurred_at": ago(hours=20)} | fields))


def the_fleet() -> list[Message]:
    """Tell of what there was before the recall: FX-1 has the lot and is worn, FX-2 had it, FX-3 may have it, FX-4 not.

    YD-1 at the other site has it, in store.
    """
    return [
        *(site("harrow-dock"), site("east-yard"), model()),
        *(hood("FX-1", BAD), hood("FX-2", BAD), hood("FX-3", None), hood("FX-4", "L9")),
        hood("YD-1", BAD, site="east-yard"),
        issued("FX-1", occurred_at=ago(hours=10)),
        message("worn", asset="FX-1", wearer="p-3071", occurred_at=ago(hours=9), until=ago(hours=8)),
        message("worn", asset="FX-1", wearer="p-9", occurred_at=ago(hours=7)),
        swap("FX-2", {"hours": 12}, "L9"),
        stocked(8.0),
        stocked(3.0, None, "east-yard"),
    ]


async def impact(http: httpx.AsyncClient, headers: Headers, recall: str = "rc-1", **asked: str) -> Any:
    """Ask what a recall has done."""
    answered = await http.get(f"/v1/recalls/{recall}/impact", headers=headers, params=asked)
    assert answered.status_code == 200, answered.text
    return answered.json()


def units(told: Any) -> dict[str, Any]:
    """Give the units of an answer by their tags."""
    return {one["asset"]: one for one in told["units"]}


def some(counted: Any) -> dict[str, int]:
    """Give the counts that are not zero."""
    return {name: count for name, count in counted.items() if count and name != "site"}


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm that opened a recall two hours ago."""
    await post(http, administrator, *the_fleet(), opened({"hours": 2}, notice="cracked housings"))
    return http
