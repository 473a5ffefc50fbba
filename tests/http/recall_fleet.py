"""A fleet of hoods, some with the bad lot, at two sites, and what is done about their recall."""

from typing import Any

import httpx
import pytest

from tests.http import recall_firm
from tests.http.firm import Headers, Message, message, model, post, site
from tests.http.recall_firm import BAD, hood

GOOD = "L9"
RECALL = "rc-1"
ORDER = {"by": "p-1001"}


def opened(**fields: Any) -> Message:
    """Open the recall of the bad lot ten hours ago."""
    return recall_firm.opened({"hours": 10}, **({"by": "p-1001"} | fields))


def actioned(tag: str, result: str = "fixed", **fields: Any) -> Message:
    """Deal with the recall on a unit an hour ago."""
    return message("recall-actioned", asset=tag, result=result, **({"recall": RECALL} | fields))


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
        hood("FX-1", BAD),
        hood("FX-2", BAD),
        hood("FX-3", None),
        hood("FX-4", GOOD),
        hood("FX-5", BAD, site="east-yard"),
        opened(),
    )
    return http
