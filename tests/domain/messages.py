"""Random posted messages of a kind, drawn from the types of its fields."""

import math
import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st
from msgspec import inspect

from service.domain import words
from service.domain.event import Event
from service.domain.holder import Holder
from service.domain.kinds.model_defined import LoadingScale
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.site_defined import Closing
from service.domain.label import normal
from service.domain.policy import VALUES, PolicyValues

PRINTABLE = st.characters(exclude_categories=("Cc", "Cs"))
DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))

Strategies = dict[str, st.SearchStrategy[Any]]


def lines(pattern: str) -> st.SearchStrategy[str]:
    """Give lines that say something: not what is invisible alone, of which there is more than any category names."""
    says = re.compile(pattern)
    return st.text(PRINTABLE, min_size=1, max_size=30).filter(lambda text: says.search(text) is not None)


BY_PATTERN: dict[str, st.SearchStrategy[Any]] = {
    words.REF_PATTERN: st.text("ABCxyz019._-", min_size=1, max_size=40),
    words.TEXT_PATTERN: st.text(PRINTABLE | st.sampled_from("\t\n\r"), max_size=60),
    words.REASON_PATTERN: lines(words.REASON_PATTERN),
    words.ADDRESS_PATTERN: lines(words.ADDRESS_PATTERN),
    words.LABEL_PATTERN: lines(words.LABEL_PATTERN).filter(normal),
    words.EXPIRY_PATTERN: DAYS.map(str) | DAYS.map(lambda day: str(day)[:7]),
    words.PERIOD_PATTERN: st.sampled_from(["P1M", "P1W", "P7D", "PT12H", "P1Y2M3W4DT5H6M7S"]),
    words.CLOCK_PATTERN: st.times().map(lambda time: f"{time:%H:%M}"),
    words.ZONE_PATTERN: st.sampled_from(["Europe/London", "America/New_York", "Etc/GMT+5"]),
    words.CURRENCY_PATTERN: st.sampled_from(["GBP", "USD", "EUR"]),
    words.GTIN_PATTERN: st.sampled_from(["96385074", "614141000036", "9521101530018", "10614141000415"]),
    words.SHA256_PATTERN: st.binary(min_size=32, max_size=32).map(bytes.hex),
}


def instants() -> st.SearchStrategy[str]:
    """Give instants in any offset."""
    zones = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes))) | st.just(UTC)
    drawn = st.datetimes(datetime(1900, 1, 2), datetime(2200, 12, 30), timezones=zones)  # noqa: DTZ001 -- bounds are naive
    return drawn.map(datetime.isoformat)


def numbers(kind: inspect.FloatType) -> st.SearchStrategy[Any]:
    """Give floats and whole numbers within the bounds; an open end is kept away from by a thousandth."""
    low = kind.ge if kind.ge is not None else (kind.gt or 0) + 0.001
    high = kind.le if kind.le is not None else (kind.lt or math.inf) - 0.001
    whole = st.integers(math.ceil(low), int(high)) if math.ceil(low) <= int(high) else st.nothing()
    return st.floats(low, high) | whole


TYPES: dict[type[inspect.Type], Callable[[Any], st.SearchStrategy[Any]]] = {
    inspect.Metadata: lambda kind: values(kind.type),
    inspect.UnionType: lambda kind: st.one_of([values(each) for each in kind.types]),
    inspect.NoneType: lambda _: st.none(),
    inspect.BoolType: lambda _: st.booleans(),
    inspect.IntType: lambda kind: st.integers(kind.ge, kind.le),
    inspect.FloatType: numbers,
    inspect.DecimalType: lambda _: st.decimals(0, 1_000_000, places=2).map(str) | st.integers(0, 1_000_000_000),
    inspect.StrType: lambda kind: BY_PATTERN[kind.pattern],
    inspect.LiteralType: lambda kind: st.sampled_from(kind.values),
    inspect.UUIDType: lambda _: st.uuids().map(str),
    inspect.DateTimeType: lambda _: instants(),
    inspect.DateType: lambda _: DAYS.map(str),
    inspect.VarTupleType: lambda kind: st.lists(values(kind.item_type), min_size=kind.min_length or 0, max_size=3),
    inspect.TupleType: lambda kind: st.tuples(*map(values, kind.item_types)).map(sorted),
    inspect.DictType: lambda kind: st.dictionaries(
        values(kind.key_type), values(kind.value_type), min_size=1, max_size=3
    ),
}


def values(kind: inspect.Type) -> st.SearchStrategy[Any]:
    """Give JSON values of a type."""
    return TYPES[type(kind)](kind)


def closings(*_: Strategies) -> st.SearchStrategy[dict[str, Any]]:
    """Give first and last days in their order."""
    ends = st.lists(DAYS.map(str), min_size=2, max_size=2).map(sorted)
    return ends.map(lambda days: {"from": days[0], "to": days[1]})


def holders(_: Strategies, optional: Strategies) -> st.SearchStrategy[dict[str, Any]]:
    """Give one of the four."""
    one = st.sampled_from(list(optional))
    return one.flatmap(lambda name: st.fixed_dictionaries({name: BY_PATTERN[words.REF_PATTERN]}))


def criteria(_: Strategies, optional: Strategies) -> st.SearchStrategy[dict[str, Any]]:
    """Give criteria that say something."""
    return st.fixed_dictionaries(
        {"lot": BY_PATTERN[words.LABEL_PATTERN]}, optional={name: optional[name] for name in ("item", "lots")}
    )


def scales(*_: Strategies) -> st.SearchStrategy[dict[str, Any]]:
    """Give marks on their scale."""
    return st.integers(0, 100).map(lambda level: {"levels": level, "change_at": level // 2})


def any_policy(needed: Strategies, optional: Strategies) -> st.SearchStrategy[dict[str, Any]]:
    """Give policies, each with values of its own."""
    return st.sampled_from(sorted(VALUES)).flatmap(lambda name: policies(name, needed, optional))


SPECIAL: dict[type, Callable[[Strategies, Strategies], st.SearchStrategy[dict[str, Any]]]] = {
    Closing: closings,
    Holder: holders,
    Criterion: criteria,
    LoadingScale: scales,
    PolicySet: any_policy,
}
"""Structs whose fields hang together."""


def structs(kind: inspect.StructType) -> st.SearchStrategy[dict[str, Any]]:
    """Give objects of a struct: every needed field, and any of the others."""
    needed = {field.encode_name: values(field.type) for field in kind.fields if field.required}
    optional = {field.encode_name: values(field.type) for field in kind.fields if not field.required}
    special = SPECIAL.get(kind.cls)
    return special(needed, optional) if special else st.fixed_dictionaries(needed, optional=optional)


TYPES[inspect.StructType] = structs


def policies(name: str, needed: Strategies, optional: Strategies) -> st.SearchStrategy[dict[str, Any]]:
    """Give policies of one name with values of its own."""
    info = inspect.type_info(PolicyValues)
    assert isinstance(info, inspect.StructType)
    own = {field.name: values(field.type).filter(lambda value: value is not None) for field in info.fields}
    chosen = st.fixed_dictionaries({value: own[value] for value in VALUES[name]})
    scope = st.fixed_dictionaries(
        {"organisation": st.just(value=True)}, optional={"site": BY_PATTERN[words.REF_PATTERN]}
    )
    drawn = needed | {"policy": st.just(name), "values": chosen, "scope": scope}
    return st.fixed_dictionaries(drawn, optional=optional)


ENDS = ("until", "valid_until", "closed_on", "calibration_due")


def settled(message: dict[str, Any]) -> dict[str, Any]:
    """Put right what hangs together: the moment, a correction, a price and its currency, an end and its start."""
    dated = message.get("occurred_at") is None and message.get("occurred_on") is not None
    message |= (
        {} if dated else {"occurred_on": None, "occurred_at": message.get("occurred_at") or "2026-03-02T05:51:40Z"}
    )
    message |= {"effective_from": "2026-03-02T00:00:00Z", "reason": "known"} if message.get("correction") else {}
    message |= {"reason": "shutdowns only"} if message["kind"] == "use-set" else {}
    message |= {"report": "used-without-check"} if message["kind"] == "exception-acknowledged" else {}
    message |= {name: None if message["kind"] == "worn" else "2200-12-31" for name in ENDS if name in message}
    for priced in [message, *message.get("lines", [])]:
        priced |= {"currency": "GBP"} if priced.get("price") is not None else {}  # noqa: PLW2901 -- changed in place
    return message


def messages(kind: type[Event]) -> st.SearchStrategy[dict[str, Any]]:
    """Give posted messages of a kind; few of them are refused for what hangs together."""
    info = inspect.type_info(kind)
    assert isinstance(info, inspect.StructType)
    return structs(info).map(lambda message: settled(message | {"kind": kind.kind}))
