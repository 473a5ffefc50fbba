"""What suppliers say of orders, sent as UBL and as tables: it is told, held against the order; nothing is recorded."""

from typing import Any

import httpx
import pytest
from msgspec.structs import replace

from service.http.describing.document_examples import DESPATCH, EXAMPLES, RESPONSE
from service.outbound.ubl.documents import ResponseLine
from service.outbound.ubl.parts import Item, OrderLineRef
from service.outbound.ubl.writing import written
from tests.http.document_firm import CSV, LINES, ORDER, XML, placed, places, send, stock, store
from tests.http.firm import Headers, post
from tests.http.keys import Keys
from tests.http.test_openapi_examples import in_order

__all__ = ["store"]


async def test_a_response_is_held_against_its_order(
    store: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Forty of sixty by the twentieth: the line is changed, each change by its name; nothing is recorded of it."""
    before = (await store.get("/v1/events", headers=administrator)).json()["judged_to"]
    answered = await send(store, await keys.make("manager"), RESPONSE)
    told = answered.json()
    assert (answered.status_code, told["document"], told["id"], told["despatch"]) == (
        200,
        "order-response",
        "OR-7",
        None,
    )
    assert told["orders"] == [{"order": ORDER, "proposals": ["pr-harrow-dock"]}]
    assert told["response"] == {
        "order": ORDER,
        "response": "OR-7",
        "outcome": "changed",
        "promised_on": None,
        "lines": [
            {
                "line": "10",
                "outcome": "changed",
                "item": "pf-170",
                "quantity": 40.0,
                "unit": "C62",
                "price": "18.40",
                "currency": "GBP",
                "backorder": 20.0,
                "promised_on": "2026-03-20",
                "changes": ["quantity", "backorder", "promised_on"],
                "note": "the rest in May",
            }
        ],
        "unanswered": [],
    }
    assert (await store.get("/v1/events", headers=administrator)).json()["judged_to"] == before


@pytest.mark.parametrize(("code", "outcome"), [("AP", "accepted"), ("RE", "rejected")])
@pytest.mark.parametrize("media", [XML, CSV])
async def test_a_word_for_the_whole_order_is_one_for_its_lines(
    store: httpx.AsyncClient, administrator: Headers, code: Any, outcome: str, media: str
) -> None:
    """Accepted or refused without lines, every line of the order is."""
    told = (await send(store, administrator, replace(RESPONSE, response=code, lines=()), media)).json()["response"]
    assert (told["outcome"], [(one["line"], one["outcome"]) for one in told["lines"]]) == (outcome, [("10", outcome)])


async def test_a_response_to_an_order_that_is_not_known_is_refused(
    store: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """To a key of the yard the dock's order is one that never was; a line that the order has not is named."""
    yard = await keys.make("integrator", ["east-yard"])
    unknown = "is no order that is known here, or none that this key may see"
    never = replace(RESPONSE, order="PO-9", lines=())
    for key, response in ((administrator, never), (yard, never), (yard, RESPONSE)):
        at = "/OrderResponse/cac:OrderReference/cbc:ID"
        assert places(await send(store, key, response)) == [(at, unknown)]
    stray = ResponseLine(id="1", item=Item(), answers=OrderLineRef(line="99"))
    assert places(await send(store, administrator, replace(RESPONSE, lines=(stray,)))) == [
        ("/OrderResponse/cac:OrderLine/cac:OrderLineReference/cbc:LineID", f"99 is no line of {ORDER}")
    ]


async def test_nothing_is_held_against_an_order_whose_lines_are_one(
    store: httpx.AsyncClient, administrator: Headers
) -> None:
    """Two proposals went under one number with a line of one name each: which is meant nobody can tell."""
    two = [placed("PO-2", proposal=f"pr-{nth}", lines=[{**LINES[0], "quantity": nth}]) for nth in (1.0, 2.0)]
    await post(store, administrator, *two)
    (told,) = places(await send(store, administrator, replace(RESPONSE, order="PO-2", response="AP", lines=())))
    assert told[1] == "has no lines on record that can be told apart: nothing can be held against it"


async def test_a_despatch_is_told_by_lot_with_what_is_to_follow(
    store: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Forty of a lot are on their way by the twentieth, twenty are on back order; nothing is recorded of it."""
    answered = await send(store, await keys.make("integrator"), DESPATCH)
    assert (answered.status_code, answered.json()) == (
        200,
        {
            "document": "despatch-advice",
            "id": "DA-3",
            "orders": [{"order": ORDER, "proposals": ["pr-harrow-dock"]}],
            "response": None,
            "despatch": {
                "despatch": "DA-3",
                "sent_on": "2026-03-17",
                "site": "harrow-dock",
                "expected_on": "2026-03-20",
                "lines": [
                    {
                        "line": "1",
                        "order": ORDER,
                        "order_line": "10",
                        "item": "pf-170",
                        "quantity": 40.0,
                        "unit": "C62",
                        "lot": "L2411",
                        "expires": "2029-05-31",
                    }
                ],
                "to_follow": [
                    {
                        "line": "1",
                        "order": ORDER,
                        "order_line": "10",
                        "item": "pf-170",
                        "unit": "C62",
                        "backorder": 20.0,
                        "outstanding": 0.0,
                    }
                ],
            },
            "passed_over": [],
            "more_passed_over": 0,
        },
    )
    assert await stock(store, administrator) == []


async def test_an_order_that_is_not_known_is_told_without_proposals(store: httpx.AsyncClient, keys: Keys) -> None:
    """A despatch of the dock's order is believed as it is told, to a key of the yard as of an order nobody knows."""
    yard = await keys.make("integrator", ["east-yard"])
    told = (await send(store, yard, DESPATCH)).json()
    assert told["orders"] == [{"order": ORDER, "proposals": []}]
    assert [one["item"] for one in told["despatch"]["lines"]] == ["pf-170"]


async def test_what_is_passed_over_is_listed(store: httpx.AsyncClient, administrator: Headers) -> None:
    """An element of UBL that no field is made of stands in the answer by its XPath."""
    body = written(DESPATCH).decode().replace("<cbc:IssueDate>", "<cbc:UUID>7</cbc:UUID><cbc:IssueDate>", 1)
    told = (await send(store, administrator, body)).json()
    assert (told["passed_over"], told["more_passed_over"]) == (["/DespatchAdvice/cbc:UUID"], 0)


@pytest.mark.parametrize(
    ("media", "name"), [(media, name) for media, examples in EXAMPLES.items() for name in examples]
)
async def test_examples_of_the_description_are_taken(
    http: httpx.AsyncClient, administrator: Headers, media: str, name: str
) -> None:
    """Each example, sent after those of the kinds, is what it is called; what a receipt adds is read back."""
    await http.post("/v1/events", json=in_order(), headers=administrator)
    answered = await send(http, administrator, EXAMPLES[media][name]["value"], media)
    assert (answered.status_code, answered.json()["document"]) == (207 if name == "receipt-advice" else 200, name)
    for one in answered.json().get("results", []):
        read = await http.get(f"/v1/events/{one['id']}", headers=administrator)
        assert (one["status"], read.json()["order"], read.json()["line"]) == (201, ORDER, "10")
