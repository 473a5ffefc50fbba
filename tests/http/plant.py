"""A firm whose one unit has had its day, and what is asked of the exceptions there."""

from typing import Any

import httpx
import pytest

from service.domain.finding import REPORTS
from tests.http import firm
from tests.http.firm import Headers, Message, issued, message, model, registered, site

UNIT = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40d01"
EMPTY: dict[str, Any] = {"rows": 0, "open": 0, "sites": []}


def on(day: int, hour: int, minute: int = 0) -> str:
    """Give a moment of March 2026, when London kept UTC."""
    return f"2026-03-{day:02}T{hour:02}:{minute:02}:00Z"


async def post(http: httpx.AsyncClient, headers: Headers, *said: Message) -> list[int]:
    """Post events that are all recorded, and give their seqs."""
    return [result["seq"] for result in await firm.post(http, headers, *said)]


async def report(http: httpx.AsyncClient, headers: Headers, name: str, **asked: Any) -> list[Any]:
    """Read the rows of a report."""
    answered = await http.get(f"/v1/exceptions/{name}", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return list(answered.json()["rows"])


async def counted(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> dict[str, Any]:
    """Count the rows of every report."""
    answered = await http.get("/v1/exceptions", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    told = answered.json()["reports"]
    assert [one["report"] for one in told] == list(REPORTS)
    return {one.pop("report"): one for one in told if one.pop("about")}


@pytest.fixture
async def plant(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a firm with two sites and a unit that was examined, issued for a day, and is in store again."""
    person = {"person": "p-9", "competences": ["examine", "release"]}
    await post(
        http,
        administrator,
        site("harrow-dock"),
        site("east-yard"),
        model(),
        message("trained", occurred_at=on(1, 9), **person),
        registered("EX-1", id=UNIT, occurred_at=on(2, 5), serial="EX-1"),
        examined(2, 6),
    )
    return http


def examined(day: int, hour: int, **fields: Any) -> Message:
    """Examine the unit, all well."""
    said = {"points": {"airflow": "pass", "battery": "pass"}, "airflow_lpm": 190.0, "result": "pass", "by": "p-9"}
    return message("examined", asset="EX-1", **({"occurred_at": on(day, hour)} | said | fields))


def handed_out(day: int, hour: int, **fields: Any) -> Message:
    """Issue the unit."""
    return issued("EX-1", occurred_at=on(day, hour), **fields)


def handed_in(day: int, hour: int) -> Message:
    """Take the unit back."""
    return message("returned", asset="EX-1", occurred_at=on(day, hour))


def worn(day: int, hour: int, **fields: Any) -> Message:
    """Wear the unit."""
    return message("worn", asset="EX-1", **({"occurred_at": on(day, hour), "wearer": "p-3071"} | fields))


def shelved(day: int, hour: int) -> list[Message]:
    """Receive two filters that have expired, and throw away more of another lot than there ever was."""
    said = {"site": "harrow-dock", "item": "pf-170", "unit": "C62", "occurred_at": on(day, hour)}
    expired = message("stock-received", quantity=2, lot="L2301", expires="2026-01", **said)
    return [expired, message("stock-discarded", quantity=3, lot="L2411", reason="wet", **said)]


def looked_at(row: Any, name: str, **fields: Any) -> Message:
    """Acknowledge a row of a report."""
    said = {"report": name, "row": row["row"], "reason": "spoken with the wearer", "by": "p-8"}
    return message("exception-acknowledged", **(said | fields))


def orders() -> list[Message]:
    """Order at the dock what was ordered already and does not come, and receive what nobody ordered."""
    line = {"line": "10", "item": "pf-170", "quantity": 8.0, "unit": "C62"}
    dock = {"site": "harrow-dock", "occurred_at": on(2, 12)}
    said = dock | {"proposal": "pr-7", "lines": [line], "expected_on": "2026-03-09"}
    came = dock | {"item": "bat-64", "quantity": 8.0, "unit": "C62", "order": "PO-9"}
    placed = [message("order-placed", order=order, **said) for order in ("PO-1", "PO-2")]
    boxes = message("stock-received", **came | {"item": "pf-9", "unit": "BX"})
    defined = message("item-defined", item="pf-9", name="Filter", unit="C62", occurred_at=on(2, 11))
    approved = message("reorder-approved", **dock, proposal="pr-8", quantity=4.0)
    return [*placed, message("stock-received", **came), defined, boxes, approved]


def ordered_unasked() -> Message:
    """Order at the dock what nobody approved."""
    line = {"line": "10", "item": "pf-170", "quantity": 8.0, "unit": "C62"}
    return message(
        "order-placed", order="PO-3", proposal="pr-9", site="harrow-dock", lines=[line], occurred_at=on(2, 12)
    )
