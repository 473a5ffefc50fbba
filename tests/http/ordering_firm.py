"""A firm that orders filters: what it has defined and counted, and what is asked of its proposals."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest

from tests.http.firm import Headers, Message, ago, message, post, the_firm

LONDON = ZoneInfo("Europe/London")
WEEKS = 14
CAP = {"amount": "500.00", "currency": "GBP"}


def item(**fields: Any) -> Message:
    """Define the filter: four in a pack, at 18.40 pounds each, two weeks on the way."""
    said = {"item": "pf-170", "name": "Particle filter 170", "unit": "C62", "pack_size": 4.0, "lead_time_days": 14}
    return message("item-defined", **({"price": "18.40", "currency": "GBP"} | said | fields))


def cap(**values: Any) -> Message:
    """Let orders of up to 500 pounds go without a manager."""
    return message("policy-set", policy="order-cap", scope={"organisation": True}, values=CAP | values)


def counted(quantity: float, site: str = "harrow-dock", **fields: Any) -> Message:
    """Count the filters of a site as the first of fourteen whole weeks began."""
    said = {"site": site, "item": "pf-170", "quantity": quantity, "unit": "C62", "occurred_at": in_week(WEEKS, 0)}
    return message("stock-counted", **(said | fields))


def swapped(days: float, **fields: Any) -> Message:
    """Change the filter of a unit so many days ago, since it was damaged."""
    return changed(ago(days=days), **fields)


def changed(at: str, tag: str = "FX-0142", site: str = "harrow-dock", **fields: Any) -> Message:
    """Change the filter of a unit at a moment, since it was damaged."""
    part = {"item": "pf-170", "condition": "new"}
    said: Message = {"position": "particle-filter", "in": part, "reason": "damage", "site": site}
    return message("filter-replaced", asset=tag, **({"occurred_at": at} | said | fields))


def used(**fields: Any) -> list[Message]:
    """Use two filters a week in fourteen whole weeks, up to the last one."""
    return [changed(in_week(week, days), **fields) for week in range(1, WEEKS + 1) for days in (1.5, 4.5)]


def in_week(back: int, days: float) -> str:
    """Give the moment so many days after the Monday so many weeks back, by the clock of the dock.

    Demand is added up by the weeks of a site (ISO 8601): on whatever day and at whatever hour it is asked for, it is
    the same.
    """
    today = datetime.now(LONDON).replace(hour=0, minute=0, second=0, microsecond=0)
    return (today - timedelta(days=today.weekday() + 7 * back - days)).isoformat()


def day_of(moment: str) -> str:
    """Give the day of a moment, by the clock of the dock."""
    return datetime.fromisoformat(moment).astimezone(LONDON).date().isoformat()


@pytest.fixture
async def shop(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a firm that has used two filters a week at the dock, and has six left of 34."""
    unit = [one | {"occurred_at": ago(days=150)} if one["kind"] == "registered" else one for one in the_firm()]
    await post(http, administrator, *unit, item(), counted(34.0), *used())
    return http


async def listed(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> list[Any]:
    """Read the proposals that are listed."""
    answered = await http.get("/v1/reorders", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return list(answered.json()["reorders"])


async def the_one(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> Any:
    """Read the only proposal there is."""
    (found,) = await listed(http, headers, **asked)
    return found


async def act(http: httpx.AsyncClient, headers: Headers, proposal: str, what: str, **said: Any) -> httpx.Response:
    """Do something about a proposal."""
    body = {"by": "p-1001"} | ({"reason": "a mistake"} if what == "cancellation" else {}) | said
    return await http.post(f"/v1/reorders/{proposal}/{what}", json=body, headers=headers)


def received(quantity: float, order: str | None = "PO-1", site: str = "harrow-dock", **fields: Any) -> Message:
    """Receive filters now."""
    said = {"site": site, "item": "pf-170", "quantity": quantity, "unit": "C62", "occurred_at": ago(minutes=1)}
    return message("stock-received", **(said | ({} if order is None else {"order": order}) | fields))
