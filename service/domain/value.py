"""What every struct of an event checks by itself, beyond what its types say.

A struct tells what is wrong with its fields, each with the field's place in it. Made of them it raises the first as
FieldError, to which the decoder adds the way there; `faults` asks for all.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, Final

import msgspec
from msgspec import inspect

from service.domain.check_digit import is_checked
from service.domain.words import FIRST_YEAR, LAST_YEAR, expiry_day

MOST_DECIMALS: Final = 4
MOST_MONEY: Final = 1_000_000_000


class FieldError(ValueError):
    """A field says what cannot be. `field` is its place in the struct: "until", "points/3/point"."""

    def __init__(self, field: str, detail: str) -> None:
        super().__init__(detail)
        self.field = field
        self.detail = detail


def _year_wrong(day: date) -> str | None:
    if FIRST_YEAR <= day.year <= LAST_YEAR:
        return None
    return f"the year must be {FIRST_YEAR} to {LAST_YEAR}"


def _expiry_wrong(expiry: str) -> str | None:
    try:
        return _year_wrong(expiry_day(expiry))
    except ValueError:
        return "no such day"


def _amount_wrong(amount: Decimal) -> str | None:
    exponent = amount.as_tuple().exponent
    if isinstance(exponent, int) and -MOST_DECIMALS <= exponent <= 0 and 0 <= amount <= MOST_MONEY:
        return None
    return f"an amount is 0 to {MOST_MONEY}, written plainly with at most {MOST_DECIMALS} decimals"


def _gtin_wrong(gtin: str) -> str | None:
    return None if is_checked(gtin) else "the check digit of the GTIN is wrong"


CHECKS: Final[dict[str, Callable[[Any], str | None]]] = {
    "expiry": _expiry_wrong,
    "amount": _amount_wrong,
    "gtin": _gtin_wrong,
}
"""A check named by a word's `extra`, answering what is wrong or None."""


def _check_of(kind: inspect.Type) -> Callable[[Any], str | None] | None:
    if isinstance(kind, inspect.UnionType):
        return next((check for check in map(_check_of, kind.types) if check), None)
    if isinstance(kind, inspect.DateTimeType | inspect.DateType):
        return _year_wrong
    if isinstance(kind, inspect.Metadata):
        return CHECKS[kind.extra["check"]] if kind.extra else _check_of(kind.type)
    return None


@cache
def _checks(cls: type[msgspec.Struct]) -> tuple[tuple[str, str, Callable[[Any], str | None]], ...]:
    info = inspect.type_info(cls)
    if not isinstance(info, inspect.StructType):  # pragma: no cover - a Struct is never anything else
        raise TypeError(cls)
    found = ((field.name, field.encode_name, _check_of(field.type)) for field in info.fields)
    return tuple((name, encoded, check) for name, encoded, check in found if check)


def unlikely(struct: type[msgspec.Struct], value: Any) -> Iterator[FieldError]:  # noqa: ANN401 -- or what stands for it
    """Give every date, expiry, amount and GTIN of a struct that cannot be."""
    for name, encoded, check in _checks(struct):
        given = getattr(value, name, None)
        wrong = None if given is None else check(given)
        if wrong:
            yield FieldError(encoded, wrong)


@cache
def own_checks(struct: type[msgspec.Struct]) -> tuple[Callable[[Any], Iterator[FieldError]], ...]:
    """Give what each class of a struct checks between fields, the widest first."""
    told = (one for one in reversed(struct.__mro__) if one is not Value)
    return tuple(vars(one)["wrong"] for one in told if "wrong" in vars(one))


def refuse_wrong(value: msgspec.Struct) -> None:
    """Refuse a struct that says what cannot be. FieldError for the first that is wrong.

    Whatever is read passes here, what is stored, too: so a plain look, and no generator for what is right.
    """
    struct = type(value)
    for name, _, check in _checks(struct):
        given = getattr(value, name)
        if given is not None and check(given):
            raise next(unlikely(struct, value))
    for wrong in own_checks(struct):
        for error in wrong(value):
            raise error


def each_once(field: str, names: Iterable[str], last: str = "") -> Iterator[FieldError]:
    """Refuse what a list names again, each at its place; `last` is the name's place in the entry."""
    seen: set[str] = set()
    for place, name in enumerate(names):
        if name in seen:
            yield FieldError(f"{field}/{place}/{last}".rstrip("/"), f"{name} is named twice")
        seen.add(name)


def in_order(value: msgspec.Struct, low: str, high: str) -> Iterator[FieldError]:
    """Refuse a `high` below its `low`, where both are given."""
    least, most = getattr(value, low), getattr(value, high)
    if least is not None and most is not None and most < least:
        yield FieldError(high.rstrip("_"), f"must not be before or below {low.rstrip('_')}")


class Value(msgspec.Struct, gc=False, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A part of an event that has fields of its own."""

    def __post_init__(self) -> None:
        """Check what the types cannot say. FieldError names the field."""
        refuse_wrong(self)

    def wrong(self) -> Iterator[FieldError]:
        """Give what is wrong between fields, beside what the wider classes say; nothing if not said otherwise."""
        return iter(())
