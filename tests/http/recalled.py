"""A firm with hoods whose filters are of two lots, at two sites, and what is done about the bad one."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Message, ago, message, model, registered, site

Headers = dict[str, str]
BAD, GOOD = "L-9", "L-10"
RECALL = "rc-1"
ORDER = {"by": "p-1001"}


def hood(tag: str, lot: str | None = BAD, at: str = "harrow-dock", **fields: Any) -> Message:
    """Register a hood with a filter of a lot (None: not known) at a site."""
    part = {"item": "pf-170", "condition": "new"} | ({} if lot is None else {"lot": lot})
    parts = [
        {"position": "particle-filter", "part": part},
        {"position": "battery", "part": {"item": "bat-64", "condition": "new"}},
    ]
    return registered(tag, site=at, parts=parts, **fields)


def fitted(tag: str, lot: str, **fields: Any) -> Message:
    """Fit a filter of a lot two hours ago."""
    said = {"position": "particle-filter", "in": {"item": "pf-170", "lot": lot, "condition": "new"}}
    return message("filter-replaced", asset=tag, **({"occurred_at": ago(hours=2), "reason": "recall"} | said | fields))


def opened(**fields: Any) -> Message:
    """Open the recall of the bad lot ten hours ago."""
    said = {"recall": RECALL, "action": "stop-use", "criteria": [{"item": "pf-170", "lot": BAD}], "by": "p-1001"}
    return message("recall-opened", **({"occurred_at": ago(hours=10)} | said | fields))


def actioned(tag: str, result: str = "fixed", **fields: Any) -> Message:
    """Deal with the recall on a unit an hour ago."""
    return message("recall-actioned", asset=tag, recall=RECALL, result=result, **fields)


async def post(http: httpx.AsyncClient, headers: Headers, *said: Message) -> list[Any]:
    """Post events that are all recorded, and give their results."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    results = answered.json()["results"]
    assert {result["status"] for result in results} == {201}, answered.text[-800:]
    return list(results)


async def stop(http: httpx.AsyncClient, headers: Headers, **fields: Any) -> Any:
    """Have the units of the recall stopped, and give what became of it."""
    answered = await http.post(f"/v1/recalls/{RECALL}/quarantine", json=ORDER | fields, headers=headers)
    assert answered.status_code == 200, answered.text
    return answered.json()


async def unit(http: httpx.AsyncClient, headers: Headers, tag: str) -> Any:
    """Read a unit."""
    return (await http.get(f"/v1/assets/{tag}", headers=headers)).json()


async def orders(http: httpx.AsyncClient, headers: Headers) -> list[Any]:
    """Read the quarantines that the log holds, in their order."""
    asked = {"kind": "quarantined", "limit": "1000"}
    return list((await http.get("/v1/events", params=asked, headers=headers)).json()["events"])


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a firm with three hoods of the bad lot, one of an unknown and one of a good one, and the recall open."""
    await post(
        http,
        administrator,
        site("harrow-dock"),
        site("east-yard"),
        model(),
        hood("FX-1"),
        hood("FX-2"),
        hood("FX-3", None),
        hood("FX-4", GOOD),
        hood("FX-5", at="east-yard"),
        opened(),
    )
    return http
