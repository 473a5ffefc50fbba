"""Histories of many units handed on together, as a recall does: random ones, and what is found in stock."""

import msgspec

from service import assess
from service.assessing.handed_on import of_stock, some
from service.assessing.moment import Question, asked
from service.assessing.places import EVERYWHERE
from service.assessing.unit_list import Wanted
from service.assessing.units import Found, find
from service.ledger import Ledger
from service.outbound.epcis.document import document
from service.outbound.epcis.drawn import drawn
from service.outbound.epcis.names import names
from service.record import record
from service.store.feed import feed
from tests.http.firm import message, site
from tests.oracle.histories import random_history
from tests.outbound.schema import faults
from tests.use.conftest import NOW
from tests.use.posting import ORGANISATION, caller_of, post

OFFICE = caller_of("office")
NAMES = names("https://id.example.com", ORGANISATION)


async def every_unit(ledger: Ledger, question: Question) -> list[Found]:
    """Find every unit that there is."""
    listed = await assess.assets(ledger, OFFICE, places=EVERYWHERE, wanted=Wanted(), after=None, limit=500)
    return [await find(question, OFFICE, str(line["tag"])) for line in listed.items]


async def test_a_random_history_is_valid_under_the_published_schema(ledger: Ledger) -> None:
    """Whatever happened, late, twice, taken back or by a day alone, the document is valid, and no id stands twice."""
    await post(ledger, random_history(3, 200).posted)
    async with asked(ledger, OFFICE) as question:
        units = await every_unit(ledger, question)
        events = [event for unit in units for event in some(unit, question, NAMES, after=0, limit=1000).items]
    ids = [event["eventID"] for event in events]

    assert len(units) > 1
    assert len(events) > 40
    assert len(set(ids)) == len(ids)
    assert faults(msgspec.json.decode(msgspec.json.encode(document(NAMES, NOW, events)))) == []


async def test_stock_is_handed_on_by_its_lot(ledger: Ledger) -> None:
    """What is in stock of a lot is a quantity at a site, named by the GTIN that the firm gave its item."""
    when = {"occurred_at": "2026-05-01T08:00:00+00:00"}
    item = message("item-defined", item="pf-170", name="Filter", unit="C62", gtin="9521101530018", **when)
    lot = {"item": "pf-170", "quantity": 8.0, "unit": "C62", "lot": "L1"}
    messages = [site("dock", **when), item, message("stock-received", site="dock", **lot, **when)]
    await record(ledger, OFFICE, [msgspec.json.encode(one) for one in messages], received_at=NOW, sent_at=None)
    async with asked(ledger, OFFICE) as question:
        stored = await feed(question.conn, ORGANISATION, after=0, limit=10)
        (event,) = drawn(of_stock(stored[-1].recorded, question.world), NAMES)

    assert event["quantityList"] == [{"epcClass": "https://id.gs1.org/01/09521101530018/10/L1", "quantity": 8.0}]
    assert event["readPoint"] == {"id": f"https://id.example.com/{ORGANISATION}/sites/dock"}
