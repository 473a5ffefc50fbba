"""Any documents whatever, for the tests."""

import string
from datetime import date
from decimal import Decimal
from typing import Any

import msgspec
from hypothesis import strategies as st

from service.domain.label import normal
from service.domain.money import extended
from service.outbound.ubl.documents import (
    DespatchAdvice,
    DespatchLine,
    Order,
    OrderLine,
    OrderResponse,
    ReceiptAdvice,
    ReceiptLine,
    ResponseLine,
)
from service.outbound.ubl.parts import (
    Address,
    Delivery,
    DespatchLineRef,
    Instance,
    Item,
    Measure,
    OrderLineRef,
    Party,
    Price,
    Shipment,
    Total,
)

LINES: dict[Any, type[Any]] = {
    Order: OrderLine,
    OrderResponse: ResponseLine,
    DespatchAdvice: DespatchLine,
    ReceiptAdvice: ReceiptLine,
}
_DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))
_WORDS = st.text(
    st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\ufffe\uffff"), min_size=1, max_size=30
).map(lambda text: text.strip())
LABELS = st.one_of(_WORDS.filter(normal), st.sampled_from(["=1+1", "'=1+1", "''-x", "-3", "@x", "a,b", '"']))
_NOTES = st.lists(LABELS, min_size=1, max_size=3).map("\n".join)
_GTINS = st.sampled_from(["9521101530018", "96385074", "036000291452"])
_REFS = st.text(string.ascii_letters + string.digits + "-/", min_size=1, max_size=12)
_UNITS = st.sampled_from(["C62", "EA", "PR", "XBX", "MTR"])


def _numbers(decimals: int) -> st.SearchStrategy[Decimal]:
    return st.decimals(0, 1_000_000, places=decimals, allow_nan=False, allow_infinity=False)


@st.composite
def _measures(draw: st.DrawFn, unit: str) -> Measure:
    return Measure(value=draw(_numbers(draw(st.integers(0, 4)))), unit=unit)


@st.composite
def _money(draw: st.DrawFn, unit: str, currency: str) -> tuple[Price | None, Total | None]:
    if not draw(st.booleans()):
        return None, None
    per = draw(st.none() | _measures(unit).filter(lambda measure: measure.value > 0))
    price = Price(amount=draw(_numbers(draw(st.integers(0, 4)))), currency=currency, per=per)
    bought = draw(st.decimals(0, 100, places=2))
    return price, Total(amount=extended(bought, price.amount, currency), currency=currency)


def _some(wanted: type[Any], **told: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Give any of a part that says something."""
    return st.builds(wanted, **told).filter(lambda part: part != wanted())


ADDRESSES = _some(
    Address,
    street=st.none() | LABELS,
    city=st.none() | LABELS,
    postcode=st.none() | LABELS,
    region=st.none() | LABELS,
    lines=st.lists(LABELS, max_size=3).map(tuple),
    country=st.sampled_from([None, "GB", "DE"]),
)
PARTIES = st.builds(Party, id=st.none() | LABELS, name=st.none() | LABELS, address=st.none() | ADDRESSES)


@st.composite
def _deliveries(draw: st.DrawFn) -> Delivery | None:
    days = sorted(draw(st.lists(_DAYS, min_size=2, max_size=2)))
    told = Delivery(
        done_on=draw(st.none() | _DAYS),
        site=draw(st.none() | _REFS),
        name=draw(st.none() | LABELS),
        address=draw(st.none() | ADDRESSES),
        earliest=draw(st.sampled_from([None, days[0]])),
        latest=draw(st.sampled_from([None, days[1]])),
    )
    return None if told == Delivery() else told


INSTANCES = st.tuples(st.none() | LABELS, st.none() | LABELS, st.none() | _DAYS).filter(any)
ITEMS = st.builds(
    Item,
    name=st.none() | LABELS,
    item=_REFS,
    part_number=st.none() | LABELS,
    gtin=st.none() | _GTINS,
    instances=st.lists(
        INSTANCES.map(lambda told: Instance(serial=told[0], lot=told[1], expires=told[2])), max_size=3
    ).map(tuple),
)
SHIPMENTS = st.builds(Shipment, id=_REFS, delivery=_deliveries(), despatched_on=st.none() | _DAYS)


@st.composite
def _line(draw: st.DrawFn, wanted: type[Any], number: int, currency: str) -> Any:
    unit = draw(_UNITS)
    price, total = draw(_money(unit, currency))
    told = {
        "id": str(number),
        "quantity": draw(_measures(unit)),
        "price": price,
        "total": total,
        "item": draw(ITEMS),
        "answers": OrderLineRef(line=draw(_REFS), order=draw(st.none() | _REFS)),
        "delivery": draw(_deliveries()),
        "status": draw(st.sampled_from([None, "5", "NoStatus"])),
        "received_on": draw(st.none() | _DAYS),
    }
    known = {field.name: field for field in msgspec.structs.fields(wanted)}
    for name in known:
        if name in {"note", "backorder_reason", "outstanding_reason", "reject_reason"}:
            told[name] = draw(st.none() | _NOTES)
        elif name in {"backorder", "outstanding", "short", "rejected"}:
            told[name] = draw(st.none() | _measures(unit))
        elif name in {"despatched", "received"}:
            told[name] = draw(_measures(unit))
    if wanted is OrderLine:
        told["quantity"] = draw(_measures(unit).filter(lambda measure: measure.value > 0))
    if wanted is ReceiptLine:
        told["despatched"] = DespatchLineRef(line=draw(_REFS))
    return wanted(**{name: value for name, value in told.items() if name in known})


@st.composite
def documents(draw: st.DrawFn, wanted: type[Any]) -> Any:
    """Give any document of a sort."""
    currency = draw(st.sampled_from(["GBP", "JPY", "BHD"]))
    ids = st.lists(_REFS, max_size=3).map(tuple)
    known = {field.name: field for field in msgspec.structs.fields(wanted)}
    told = {
        "id": draw(LABELS),
        "issued_on": draw(_DAYS),
        "note": draw(st.none() | _NOTES),
        "currency": draw(st.sampled_from([None, currency])),
        "proposal": draw(st.none() | _REFS),
        "order": draw(_REFS),
        "response": draw(st.sampled_from([None, "AB", "RE"])),
        "orders": draw(ids),
        "despatches": draw(ids),
        "buyer": draw(PARTIES),
        "supplier": draw(PARTIES),
        "delivery": draw(_deliveries()),
        "shipment": draw(st.none() | SHIPMENTS),
        "lines": tuple(draw(_line(LINES[wanted], number, currency)) for number in range(draw(st.integers(1, 3)))),
    }
    return wanted(**{name: value for name, value in told.items() if name in known})
