"""The worked integration, end to end over real HTTP: webhooks out, approval, placement, deliveries, receipts.

The example looks by itself once an hour only, so that what it does within a test it was told of by a webhook; but
where it is killed.
"""

import asyncio
import base64
import json
from collections.abc import AsyncIterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

import httpx
import pytest
from standardwebhooks import Webhook

from tests.databases.clone import Database
from tests.examples.erp import free_port, running
from tests.faults.service import serving
from tests.http.conftest import made_firms
from tests.http.firm import WEBHOOK_KEY, Headers, message, post, the_firm
from tests.http.ordering_firm import act, counted, item, the_one, used

HOURLY, OFTEN = ("--every", "3600"), ("--every", "5")


class Firm(NamedTuple):
    """A service with a firm that runs out of filters, and its keys by role."""

    http: httpx.AsyncClient
    keys: dict[str, Headers]
    address: str

    async def events(self, kind: str) -> list[Any]:
        """Read the events of a kind."""
        answered = await self.http.get("/v1/events", params={"kind": kind, "limit": 500}, headers=self.keys["manager"])
        assert answered.status_code == 200, answered.text
        return list(answered.json()["events"])

    async def reorder(self, proposal: str) -> Any:
        """Read a proposal."""
        return (await self.http.get(f"/v1/reorders/{proposal}", headers=self.keys["manager"])).json()


@pytest.fixture
async def firm(database: Database, tmp_path: Path) -> AsyncIterator[Firm]:
    """Give a running service that sends to this machine, and its firm."""
    environment = {
        "DATABASE_URL": database.app_url,
        "RESPIRATORS_WEBHOOK_KEY": WEBHOOK_KEY,
        "RESPIRATORS_WEBHOOK_PRIVATE": "yes",
    }
    async with made_firms(database.owner_url) as made:
        keys = {"integrator": await made.make("integrator"), "manager": await made.make("manager")}
        administrator = await made.make("administrator")
    with serving(tmp_path / "service.log", environment) as service:
        address = f"http://127.0.0.1:{service.port}"
        async with httpx.AsyncClient(base_url=address, timeout=60) as http:
            await post(http, administrator | {"prefer": "import"}, *the_firm(), item(), counted(34.0), *used())
            yield Firm(http, keys, address)
        assert service.errors() == []


async def test_an_order_goes_all_its_way(firm: Firm, tmp_path: Path) -> None:
    """Proposed, approved, ordered, received in two parts and closed: each once, and the stock is there."""
    proposed = await the_one(firm.http, firm.keys["manager"])
    async with running(firm.address, firm.keys, tmp_path / "books", free_port(), *HOURLY) as erp:
        await erp.until("EX-00001", "closed")
    told = await firm.reorder(proposed["id"])

    half = f"{proposed['quantity'] / 2:g}"
    assert [line.rpartition(":")[0] for line in erp.said[1:-1]] == [
        f"approved {proposed['id']}: {proposed['quantity']:g} C62 of pf-170 for harrow-dock",
        f"ordered {proposed['id']}: {proposed['quantity']:g} C62 of pf-170 for harrow-dock as EX-00001",
        f"received {half} C62 of EX-00001",
        f"received {half} C62 of EX-00001",
    ]
    assert {line.rpartition(": ")[2] for line in erp.said[1:-1]} == {"recorded"}
    assert (told["state"], told["order"]["order"]) == ("closed", "EX-00001")
    assert [len(await firm.events(kind)) for kind in ("reorder-approved", "order-placed")] == [1, 1]
    assert sum(one["quantity"] for one in await firm.events("stock-received")) == proposed["quantity"]
    stock = (await firm.http.get("/v1/stock", params={"site": "harrow-dock"}, headers=firm.keys["integrator"])).json()
    assert stock["stock"][0]["quantity"] == 6.0 + proposed["quantity"]


async def test_it_may_be_killed_anywhere(firm: Firm, tmp_path: Path) -> None:
    """Killed after each step and started again with its books it goes on, and does nothing twice.

    What it was to be told of while it was down it may be told again in minutes only: so it looks by itself, too.
    """
    proposed = await the_one(firm.http, firm.keys["manager"])
    port = free_port()
    for step in ("approved", "ordered", "received"):
        async with running(firm.address, firm.keys, tmp_path / "books", port, *OFTEN) as erp:
            await erp.until(step)
    async with running(firm.address, firm.keys, tmp_path / "books", port, *OFTEN) as erp:
        await erp.until("EX-00001", "closed")

    kinds = ("reorder-approved", "order-placed", "stock-received")
    assert [len(await firm.events(kind)) for kind in kinds] == [1, 1, 2]
    assert (await firm.reorder(proposed["id"]))["state"] == "closed"
    hooks = (await firm.http.get("/v1/webhooks", headers=firm.keys["integrator"])).json()["webhooks"]
    assert len(hooks) == 1


async def test_what_costs_more_waits_for_a_person(firm: Firm, tmp_path: Path) -> None:
    """Up to ten pounds it approves by itself: the order waits, until a manager approves, and it is told of that."""
    proposed = await the_one(firm.http, firm.keys["manager"])
    async with running(firm.address, firm.keys, tmp_path / "books", free_port(), *HOURLY, "--most", "10") as erp:
        await erp.until("waits for a person", proposed["id"])
        assert await firm.events("order-placed") == []
        approved = await act(firm.http, firm.keys["manager"], proposed["id"], "approval")
        assert approved.status_code == 201, approved.text
        await erp.until("EX-00001", "closed")
    assert [len(await firm.events(kind)) for kind in ("reorder-approved", "order-placed")] == [1, 1]


async def test_what_fails_is_tried_again(firm: Firm, tmp_path: Path) -> None:
    """Away, refused or no answer in its words, as it starts and later: it tells of it and looks again."""
    often, stranger = ("--every", "0.05"), {"integrator": {"authorization": "Bearer rl_nobody"}}
    nowhere, page = f"http://127.0.0.1:{free_port()}", free_port()
    other = await asyncio.start_server(_a_page, "127.0.0.1", page)
    async with other:
        for service, keys, told in (
            (nowhere, firm.keys, "the service is away"),
            (firm.address, stranger, "refused: "),
            (f"http://127.0.0.1:{page}", firm.keys, "no answer that can be read"),
        ):
            async with running(service, keys, tmp_path / "other", free_port(), *often) as erp:
                for _ in range(5):
                    await erp.until(told)


async def _a_page(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    with suppress(asyncio.IncompleteReadError):  # who asks may be ended as it begins to
        await reader.readuntil(b"\r\n\r\n")
        writer.write(b"HTTP/1.1 502 Bad Gateway\r\nContent-Length: 6\r\n\r\n<html>")
    writer.close()


async def test_an_approval_of_no_quantity_waits_for_a_person(firm: Firm, tmp_path: Path) -> None:
    """It is told each time, and nothing is ordered of it."""
    proposed = await the_one(firm.http, firm.keys["manager"])
    await post(firm.http, firm.keys["manager"], message("reorder-approved", proposal=proposed["id"]))
    async with running(firm.address, firm.keys, tmp_path / "books", free_port(), "--every", "0.05") as erp:
        for _ in range(2):
            await erp.until("waits for a person, approved without a quantity", proposed["id"])
    assert await firm.events("order-placed") == []


async def test_what_is_not_signed_is_turned_away(firm: Firm, tmp_path: Path) -> None:
    """Whoever else posts to its address is told 401, with no signature and with one of another secret."""
    port = free_port()
    async with running(firm.address, firm.keys, tmp_path / "books", port, *HOURLY) as erp:
        await erp.until("takes webhooks")
        async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as stranger:
            answers = [await stranger.post("/", content=EVENT, headers=headers) for headers in ({}, forged())]
    assert [answered.status_code for answered in answers] == [401, 401]


EVENT = json.dumps({"type": "respirator-ledger.order-placed.v1"}).encode()


def forged() -> Headers:
    """Sign by another secret, just now."""
    secret = f"whsec_{base64.b64encode(bytes(32)).decode()}"
    now = datetime.now(UTC)
    signature = Webhook(secret).sign("a", now, EVENT.decode())
    return {"webhook-id": "a", "webhook-timestamp": str(int(now.timestamp())), "webhook-signature": signature}
