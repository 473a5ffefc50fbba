"""A firm that has ordered, and what is sent to it of its orders."""

from typing import Any

import httpx
import pytest

from service.http.describing.document_examples import RECEIPT
from service.outbound.ubl.documents import Document
from service.outbound.ubl.sheet import sheet
from service.outbound.ubl.writing import written
from tests.http.firm import Headers, message, post, site
from tests.http.ordering_firm import item

DOOR = "/v1/order-documents"
XML, CSV = "application/xml", "text/csv"
ORDER = "PO/2026/0071"
LINES = [{"line": "10", "item": "pf-170", "quantity": 60.0, "unit": "C62", "price": "18.40", "currency": "GBP"}]
LINE = RECEIPT.lines[0]


def placed(order: str = ORDER, where: str = "harrow-dock", **fields: Any) -> dict[str, Any]:
    """Order filters for a site."""
    said: dict[str, Any] = {"order": order, "proposal": f"pr-{where}", "site": where, "lines": LINES}
    return message(
        "order-placed", **said | {"occurred_at": "2026-03-02T05:51:40Z", "expected_on": "2026-03-16"} | fields
    )


@pytest.fixture
async def store(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a firm that has ordered filters for its dock, and others for its yard."""
    two = [site("harrow-dock"), site("east-yard"), item(), item(item="pf-171", name="Particle filter 171", unit="each")]
    await post(http, administrator, *two, placed(), placed("PO-YARD", "east-yard"))
    return http


async def send(
    http: httpx.AsyncClient, key: Headers, body: Document | str | bytes, media: str = XML, **asked: str
) -> httpx.Response:
    """Send a document; a receipt is by somebody if not said otherwise."""
    if not isinstance(body, str | bytes):
        body = sheet(body) if media == CSV else written(body)
    return await http.post(DOOR, params={"by": "p-1004"} | asked, content=body, headers=key | {"content-type": media})


async def stock(http: httpx.AsyncClient, key: Headers, where: str = "harrow-dock") -> list[tuple[Any, ...]]:
    """Read what a site has, lot by lot."""
    shelves = (await http.get("/v1/stock", params={"site": where}, headers=key)).json()["stock"]
    return [
        (one["item"], one["unit"], lot["lot"], lot["expires"], lot["quantity"])
        for one in shelves
        for lot in one["lots"]
    ]


def places(answered: httpx.Response) -> list[tuple[str, str]]:
    """Give what is wrong, each with its place."""
    told = answered.json()
    assert (answered.status_code, told["type"]) == (422, "/problems/bad-document"), answered.text
    return [(one["at"], one["detail"]) for one in told["errors"]]
