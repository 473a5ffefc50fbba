"""What structs check beyond their types: years, days, money, GTINs and the fields that hang together."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

import msgspec
import pytest

from service.domain.codec import decode
from service.domain.errors import Malformed
from service.domain.kinds import BY_NAME
from service.domain.kinds.checked import Checked
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.part import Part
from service.domain.policy import VALUES, PolicyValues
from service.domain.value import FieldError

PF = {"item": "pf-170", "condition": "new"}
POINT = {"point": "airflow", "required": True, "on_fail": "withdraw"}
LINE = {"line": "10", "item": "pf-170", "quantity": 1, "unit": "C62", "currency": "GBP"}

WRONG = [
    ("checked", {"occurred_at": None}, "/occurred_at", "one of occurred_at and occurred_on is needed"),
    ("checked", {"occurred_on": "2026-03-02"}, "/occurred_on", "only one of occurred_at and occurred_on may be given"),
    ("checked", {"occurred_at": "1899-12-31T23:59:59Z"}, "/occurred_at", "the year must be 1900 to 2200"),
    ("checked", {"occurred_at": "2201-01-01T00:00:00Z"}, "/occurred_at", "the year must be 1900 to 2200"),
    ("checked", {"occurred_at": "0001-01-01T00:00:00+14:00"}, "/occurred_at", "the year must be 1900 to 2200"),
    ("checked", {"occurred_at": "9999-12-31T23:59:59-12:00"}, "/occurred_at", "the year must be 1900 to 2200"),
    ("checked", {"sent_at": "0001-01-01T00:00:00Z"}, "/sent_at", "the year must be 1900 to 2200"),
    ("checked", {"occurred_at": None, "occurred_on": "0001-01-01"}, "/occurred_on", "the year must be 1900 to 2200"),
    ("registered", {"made_on": "9999-12-31"}, "/made_on", "the year must be 1900 to 2200"),
    ("part-identified", {"part": PF | {"expires": "2026-02-30"}}, "/part/expires", "no such day"),
    ("part-identified", {"part": PF | {"expires": "9999-12"}}, "/part/expires", "the year must be 1900 to 2200"),
    ("part-identified", {"part": PF | {"expires": "0000-01"}}, "/part/expires", "no such day"),
    ("filter-replaced", {"in": PF | {"opened_on": "0001-01-01"}}, "/in/opened_on", "the year must be 1900 to 2200"),
    ("retagged", {"new_tag": "FX-0142"}, "/new_tag", "is the tag it has already"),
    ("use-set", {"use": "occasional", "reason": None}, "/reason", "occasional use needs a reason"),
    ("medically-cleared", {"until": "2026-02-28"}, "/until", "must not lie before the event"),
    ("issued", {"holder": {}}, "/holder", "one of person, crew, vehicle and place is needed"),
    (
        "issued",
        {"holder": {"crew": "c-1", "place": "bay-2"}},
        "/holder/place",
        "only one of person, crew, vehicle and place may be given",
    ),
    ("worn", {"until": "2026-03-02T05:51:39Z"}, "/until", "must not lie before occurred_at, its start"),
    ("worn", {"occurred_at": None, "occurred_on": "2026-03-02"}, "/until", "needs occurred_at, its start"),
    ("trained", {"valid_until": "2026-02-28"}, "/valid_until", "must not lie before the event"),
    ("fit-tested", {"valid_until": "2026-02-28"}, "/valid_until", "must not lie before the event"),
    ("medically-cleared", {"until": "2026-02-28"}, "/until", "must not lie before the event"),
    ("assigned", {"until": "2026-02-28"}, "/until", "must not lie before the event"),
    (
        "order-placed",
        {"lines": [LINE | {"price": "1.50", "currency": None}]},
        "/lines/0/currency",
        "a price needs its currency",
    ),
    ("order-placed", {"lines": [LINE, LINE]}, "/lines/1/line", "10 is named twice"),
    (
        "order-placed",
        {"lines": [LINE | {"price": -1}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    (
        "order-placed",
        {"lines": [LINE | {"price": "1.00001"}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    (
        "order-placed",
        {"lines": [LINE | {"price": "1E+1"}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    (
        "order-placed",
        {"lines": [LINE | {"price": "NaN"}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    (
        "order-placed",
        {"lines": [LINE | {"price": "Infinity"}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    (
        "order-placed",
        {"lines": [LINE | {"price": "1E+9"}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    (
        "order-placed",
        {"lines": [LINE | {"price": "1000000001"}]},
        "/lines/0/price",
        "an amount is 0 to 1000000000, written plainly with at most 4 decimals",
    ),
    ("recall-opened", {"criteria": [{}]}, "/criteria/0", "a criterion needs at least one value"),
    (
        "recall-opened",
        {"criteria": [{"made_from": "2026-01-02", "made_to": "2026-01-01"}]},
        "/criteria/0/made_to",
        "must not be before or below made_from",
    ),
    (
        "recall-opened",
        {"criteria": [{"lot": "a"}, {"received_from": "2026-01-02", "received_to": "2026-01-01"}]},
        "/criteria/1/received_to",
        "must not be before or below received_from",
    ),
    ("voided", {"event": BY_NAME["voided"].example["id"]}, "/event", "an event cannot void itself"),
    (
        "site-defined",
        {"correction": True, "effective_from": None},
        "/effective_from",
        "a correction says since when it holds",
    ),
    ("site-defined", {"correction": True, "reason": None}, "/reason", "a correction needs a reason"),
    ("site-defined", {"closed_on": "2020-01-01"}, "/closed_on", "must not be before or below opened_on"),
    (
        "site-defined",
        {"calendar": {"working_days": ["mon", "tue", "mon"]}},
        "/calendar/working_days/2",
        "mon is named twice",
    ),
    (
        "site-defined",
        {"calendar": {"working_days": [], "closed": [{"from": "2026-01-02", "to": "2026-01-01"}]}},
        "/calendar/closed/0/to",
        "must not be before or below from",
    ),
    (
        "site-defined",
        {"calendar": {"working_days": [], "shifts": [{"name": "day", "starts": "06:00", "lasts": "PT8H"}] * 2}},
        "/calendar/shifts/1/name",
        "day is named twice",
    ),
    ("model-defined", {"plausible_flow_lpm": [200, 100]}, "/plausible_flow_lpm/1", "must not be below the low end"),
    ("model-defined", {"points": [POINT, POINT]}, "/points/1/point", "airflow is named twice"),
    ("model-defined", {"settings": [{"name": "x", "flow_lpm": 1}] * 2}, "/settings/1/name", "x is named twice"),
    (
        "model-defined",
        {"positions": [{"position": "p", "role": "gas", "items": [], "required": False}] * 2},
        "/positions/1/position",
        "p is named twice",
    ),
    (
        "model-defined",
        {"assemblies": [{"name": "x", "items": {"p": []}}] * 2},
        "/assemblies/1/name",
        "x is named twice",
    ),
    ("model-defined", {"loading": {"levels": 3, "change_at": 4}}, "/loading/change_at", "must not be above levels"),
    ("item-defined", {"gtin": "9521101530017"}, "/gtin", "the check digit of the GTIN is wrong"),
    ("item-defined", {"currency": None}, "/currency", "a price needs its currency"),
    (
        "instrument-defined",
        {"calibration_due": "2025-09-30"},
        "/calibration_due",
        "must not be before or below calibrated_on",
    ),
    (
        "policy-set",
        {"scope": {"organisation": False}},
        "/scope/organisation",
        "must be true: narrow the scope by site and model",
    ),
    ("policy-set", {"values": {}}, "/values", "needs a value: interval, due_soon"),
    (
        "policy-set",
        {"values": {"cover": "PT12H"}},
        "/values/cover",
        "thorough-examination has no such value, only interval, due_soon",
    ),
    ("policy-set", {"values": {"interval": "P0D"}}, "/values/interval", "must be longer than nothing"),
    (
        "policy-set",
        {"values": {"interval": {"escape": "PT0S"}}},
        "/values/interval/escape",
        "must be longer than nothing",
    ),
    (
        "policy-set",
        {"policy": "pre-use-check", "values": {"cover": "PT0H"}},
        "/values/cover",
        "must be longer than nothing",
    ),
    (
        "policy-set",
        {"policy": "order-cap", "values": {"amount": 5}},
        "/values/currency",
        "an amount needs its currency",
    ),
]


@pytest.mark.parametrize(("kind", "content", "pointer", "detail"), WRONG)
def test_what_cannot_be_is_refused_at_its_field(kind: str, content: dict[str, Any], pointer: str, detail: str) -> None:
    """The example with one thing wrong; null stands for left out."""
    with pytest.raises(Malformed) as refused:
        decode(msgspec.json.encode(BY_NAME[kind].example | content))
    assert refused.value.pointer == pointer
    assert refused.value.detail == detail


RIGHT = [
    ("checked", {"occurred_at": "1900-01-01T00:00:00Z"}),
    ("checked", {"occurred_at": "2200-12-31T23:59:59Z"}),
    ("worn", {"until": "2026-03-02T05:51:40Z"}),
    ("worn", {"occurred_at": None, "occurred_on": "2026-03-02", "until": None}),
    ("use-set", {"use": "routine", "reason": None}),
    ("medically-cleared", {"until": "2026-03-01"}),
    ("medically-cleared", {"until": None}),
    ("medically-cleared", {"occurred_at": None, "occurred_on": "2026-03-02", "until": "2026-03-02"}),
    ("part-replaced", {"in": None}),
    ("part-replaced", {"out": {}}),
    ("order-placed", {"lines": [LINE | {"price": 18.4}, LINE | {"line": "20", "price": 0}]}),
    ("item-defined", {"price": None, "currency": None}),
    ("recall-opened", {"criteria": [{"lots": ["L1"]}]}),
    ("model-defined", {"plausible_flow_lpm": [100, 100]}),
    ("model-defined", {"loading": {"levels": 4, "change_at": 4}}),
    ("policy-set", {"values": {"interval": "P1M"}}),
    ("policy-set", {"values": {"due_soon": "P0D"}}),
    ("policy-set", {"policy": "clock", "values": {"tolerance": "PT0S"}}),
    (
        "policy-set",
        {"policy": "pre-use-check", "values": {"cover": "PT12H", "count": "worn", "in_use_recheck": "PT4H"}},
    ),
    ("policy-set", {"policy": "cleaning", "values": {"between_wearers": True}}),
    ("policy-set", {"policy": "scope", "values": {"in_store": True}}),
    ("policy-set", {"policy": "acceptance", "values": {"examination": False}}),
    ("policy-set", {"policy": "service-level", "values": {"level": 0.95}}),
    ("policy-set", {"policy": "order-cap", "values": {"amount": "5000.00", "currency": "GBP"}}),
    ("policy-set", {"policy": "filter-life", "values": {"due_soon": "P14D"}}),
    (
        "policy-set",
        {
            "policy": "protection",
            "values": {
                "equality_suffices": False,
                "tasks_required": True,
                "confined_proven": {"person": "p-1002", "reason": "oxygen is metered"},
            },
        },
    ),
]


@pytest.mark.parametrize(("kind", "content"), RIGHT)
def test_what_may_be_is_taken(kind: str, content: dict[str, Any]) -> None:
    """The edges of the same rules."""
    assert decode(msgspec.json.encode(BY_NAME[kind].example | content)).kind == kind


@pytest.mark.parametrize("gtin", ["96385074", "614141000036", "9521101530018", "09521101530018", "10614141000415"])
def test_a_gtin_with_its_check_digit_is_taken(gtin: str) -> None:
    """8, 12, 13 and 14 digits; weights 3 and 1 from the right (GS1 General Specifications 7.9), worked out by hand."""
    assert decode(msgspec.json.encode(BY_NAME["item-defined"].example | {"gtin": gtin})).kind == "item-defined"


def test_money_is_read_to_the_last_digit_from_a_number_or_a_string() -> None:
    """18.40 stays 18.40, as no binary fraction could."""
    lines = [LINE | {"price": "18.40"}, LINE | {"line": "20", "price": 0.1}]
    event = decode(msgspec.json.encode(BY_NAME["order-placed"].example | {"lines": lines}))
    assert isinstance(event, OrderPlaced)
    assert [line.price for line in event.lines] == [Decimal("18.40"), Decimal("0.1")]


def test_a_struct_made_in_code_is_checked_as_a_posted_one() -> None:
    """The error names the field without a decoder in between."""
    with pytest.raises(FieldError) as wrong:
        Part(item="pf-170", expires="2026-02-30", condition="new")
    assert (wrong.value.field, wrong.value.detail) == ("expires", "no such day")


def test_the_earliest_day_of_an_instant_leaves_room_for_every_zone() -> None:
    """An instant stamped on 2 March may fall on 1 March where it happened; a date is that date."""
    event = Checked(id=UUID(int=1), occurred_at=datetime(2026, 3, 2, 3, tzinfo=UTC), by="p-1", asset="FX-1", points={})
    assert event.earliest_day() == date(2026, 3, 1)
    dated = msgspec.structs.replace(event, occurred_at=None, occurred_on=date(2026, 3, 2))
    assert dated.earliest_day() == date(2026, 3, 2)


def test_the_values_of_the_policies_are_those_of_the_contract() -> None:
    """Each policy's names, and no value belongs to none."""
    assert VALUES == {
        "thorough-examination": ("interval", "due_soon"),
        "pre-use-check": ("cover", "count", "in_use_recheck"),
        "cleaning": ("between_wearers",),
        "scope": ("in_store",),
        "acceptance": ("examination",),
        "service-level": ("level",),
        "order-cap": ("amount", "currency"),
        "filter-life": ("due_soon",),
        "protection": ("equality_suffices", "tasks_required", "confined_proven"),
        "clock": ("tolerance",),
    }
    assert {name for names in VALUES.values() for name in names} == set(PolicyValues.__struct_fields__)


def test_a_policy_gives_the_values_that_are_set() -> None:
    """False is a value; what was left out is not there."""
    assert PolicyValues(between_wearers=False).given() == {"between_wearers": False}
