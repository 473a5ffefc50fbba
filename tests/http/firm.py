"""Messages of an invented firm: two sites, one model, one unit and what happens to it."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import httpx

from service.app import Wiring
from service.settings import Settings
from tests.http.applications import application
from tests.http.contract import hold_to_contract
from tests.http.streaming import hanging_up

Headers = dict[str, str]
Message = dict[str, Any]
WEBHOOK_KEY = "a-key-of-the-tests-that-no-operator-has"


@asynccontextmanager
async def serving(app_url: str, *, label_address: str | None = None) -> AsyncIterator[httpx.AsyncClient]:
    """Start the whole service on a database, and give a client of it; it finds no receiver by any name."""
    settings = Settings(database_url=app_url, pool_size=4, webhook_key=WEBHOOK_KEY, label_address=label_address)
    with application(Wiring(settings, resolve=nowhere)) as app:
        transport = httpx.ASGITransport(hanging_up(app))
        hooks: Any = {"response": [hold_to_contract]}
        async with (
            app.lifespan(),
            httpx.AsyncClient(transport=transport, base_url="http://ledger.test", event_hooks=hooks) as client,
        ):
            yield client


async def nowhere(_organisation: UUID, _host: str, _port: int) -> list[str]:
    """Find no address of any host."""
    return []


async def post(http: httpx.AsyncClient, headers: Headers, *said: Message) -> list[Any]:
    """Post events that are all recorded, and give their results."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    results: list[Any] = answered.json()["results"]
    assert {result["status"] for result in results} == {201}, answered.text[-800:]
    return results


def ago(**time: float) -> str:
    """Give the moment so long ago."""
    return (datetime.now(UTC) - timedelta(**time)).isoformat()


def message(kind: str, **fields: Any) -> Message:
    """Say that something happened an hour ago, if not said otherwise."""
    when = {} if "occurred_on" in fields else {"occurred_at": ago(hours=1)}
    return {"id": str(uuid4()), "kind": kind, "by": "p-3071"} | when | fields


def site(ref: str, **fields: Any) -> Message:
    """Define a site that works every day of the week."""
    days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    said: Message = {"name": ref.title(), "profile": "uk", "time_zone": "Europe/London"}
    said |= {"employer": {"name": "Harrow Fabrication", "address": "1 Dock Road"}}
    said |= {"calendar": {"working_days": days}}
    return message("site-defined", site=ref, **(said | fields))


def model(**fields: Any) -> Message:
    """Define a powered hood with a filter and a battery."""
    said: Message = {
        "model": "northwind-2",
        "name": "Northwind 2",
        "device": "powered",
        "fit": "loose",
        "approvals": [{"jurisdiction": "uk", "class": "TH3", "standard": "EN 12941", "edition": "2023"}],
        "minimum_flow_lpm": 160.0,
        "positions": [
            {"position": "particle-filter", "role": "particle", "items": ["pf-170"], "required": True},
            {"position": "battery", "role": "battery", "items": ["bat-64"], "required": True},
        ],
        "points": [
            {"point": "airflow", "role": "airflow", "required": True, "on_fail": "withdraw"},
            {"point": "battery", "role": "battery", "required": True, "on_fail": "recheck"},
        ],
    }
    return message("model-defined", **(said | fields))


def registered(tag: str = "FX-0142", **fields: Any) -> Message:
    """Register a complete unit thirty hours ago."""
    parts = [
        {"position": "particle-filter", "part": {"item": "pf-170", "condition": "new"}},
        {"position": "battery", "part": {"item": "bat-64", "condition": "new"}},
    ]
    said = {"model": "northwind-2", "serial": f"NW-{tag}", "site": "harrow-dock", "parts": parts}
    return message("registered", asset=tag, **({"occurred_at": ago(hours=30)} | said | fields))


def issued(tag: str = "FX-0142", **fields: Any) -> Message:
    """Hand a unit to a person three hours ago."""
    return message("issued", asset=tag, **({"occurred_at": ago(hours=3), "holder": {"person": "p-3071"}} | fields))


def checked(tag: str = "FX-0142", **fields: Any) -> Message:
    """Check a unit before use, all well, two hours ago."""
    said: Message = {"wearer": "p-3071", "points": {"airflow": "pass", "battery": "pass"}, "airflow_lpm": 186.0}
    return message("checked", asset=tag, **({"occurred_at": ago(hours=2)} | said | {"battery_percent": 84.0} | fields))


def failed(tag: str = "FX-0142", **fields: Any) -> Message:
    """Find that a unit's airflow fails."""
    return message("failed-check", asset=tag, **({"points": {"airflow": "fail", "battery": "pass"}} | fields))


def the_firm() -> list[Message]:
    """Tell what there is before anything happens: two sites, the model and a unit in store at the first."""
    return [site("harrow-dock"), site("east-yard"), model(), registered()]
