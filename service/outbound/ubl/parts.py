"""What documents of trade are made of: parties, places, goods, quantities and prices.

All is optional that UBL leaves optional and a reader can do without. Numbers are exact.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from typing import Annotated, Final

from msgspec import Meta
from typing_extensions import override

from service.domain.money import minor_units, plain
from service.domain.value import MOST_DECIMALS, FieldError, Value, in_order
from service.domain.words import LABEL_PATTERN, MOST_QUANTITY, TEXT_PATTERN, Amount, Currency, Gtin, Label
from service.reference.units import unit_wrong

MOST_LINES: Final = 1_000

Line = Annotated[str, Meta(max_length=300, pattern=LABEL_PATTERN)]
"""A line of an address, or a description of goods."""
Note = Annotated[str, Meta(max_length=4_000, pattern=TEXT_PATTERN)]
Country = Annotated[str, Meta(pattern=r"^[A-Z]{2}$(?!\n)")]
"""ISO 3166-1, two letters."""


class Measure(Value, frozen=True, kw_only=True):
    """How many of what unit (UN/ECE Recommendation 20)."""

    value: Decimal
    unit: Label

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse what no store counts, and what is no unit."""
        exponent = self.value.as_tuple().exponent
        if not isinstance(exponent, int) or exponent < -MOST_DECIMALS or not 0 <= self.value <= MOST_QUANTITY:
            yield FieldError("value", f"a quantity is 0 to {MOST_QUANTITY} with at most {MOST_DECIMALS} decimals")
        sentence = unit_wrong(self.unit)
        if sentence:
            yield FieldError("unit", sentence)


class Price(Value, frozen=True, kw_only=True):
    """What `per` costs, or where that is left out one of what is ordered; it may be finer than the currency's coins."""

    amount: Amount
    currency: Currency
    per: Measure | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse what is no currency, and a price of nothing."""
        yield from currency_wrong("currency", self.currency)
        if self.per is not None and not self.per.value:
            yield FieldError("per/value", "a price is for more than nothing: leave it out where it is for one")


class Total(Value, frozen=True, kw_only=True):
    """What a line costs, without taxes."""

    amount: Amount
    currency: Currency

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse what nobody can pay."""
        yield from currency_wrong("currency", self.currency)
        places, (_, _, fraction) = minor_units(self.currency), plain(self.amount).partition(".")
        if places is not None and len(fraction) > places:
            yield FieldError("amount", f"amounts in {self.currency} have at most {places} decimals (ISO 4217)")


class Address(Value, frozen=True, kw_only=True):
    """Where a party or a site is: lines as they are printed, or in parts as other systems send them."""

    street: Line | None = None
    city: Line | None = None
    postcode: Label | None = None
    region: Line | None = None
    lines: Annotated[tuple[Line, ...], Meta(max_length=10)] = ()
    country: Country | None = None


class Party(Value, frozen=True, kw_only=True):
    """A buyer or a supplier; `id` is the reference that the sender has for it."""

    id: Label | None = None
    name: Line | None = None
    address: Address | None = None


class Delivery(Value, frozen=True, kw_only=True):
    """Where goods go and when: asked for, promised, expected or done. `site` is the buyer's own reference."""

    done_on: date | None = None
    site: Label | None = None
    name: Line | None = None
    address: Address | None = None
    earliest: date | None = None
    latest: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse an end before its start."""
        yield from in_order(self, "earliest", "latest")


class Shipment(Value, frozen=True, kw_only=True):
    """What travels together."""

    id: Label
    delivery: Delivery | None = None
    despatched_on: date | None = None


class Instance(Value, frozen=True, kw_only=True):
    """One lot or one thing of the goods in a line; how many of a lot there are, UBL cannot say."""

    serial: Label | None = None
    lot: Label | None = None
    expires: date | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse what says nothing."""
        if self.serial is None and self.lot is None and self.expires is None:
            yield FieldError("lot", "is needed, or a serial number or an expiry")


class Item(Value, frozen=True, kw_only=True):
    """Goods: `item` is the buyer's reference, `part_number` the supplier's or the maker's."""

    name: Line | None = None
    item: Label | None = None
    part_number: Label | None = None
    gtin: Gtin | None = None
    instances: Annotated[tuple[Instance, ...], Meta(max_length=MOST_LINES)] = ()

    def is_known(self) -> bool:
        """Say whether it is told which goods these are."""
        return (self.item or self.part_number or self.gtin) is not None


class OrderLineRef(Value, frozen=True, kw_only=True):
    """The line of an order that another document answers; without `order` the one that the document is about."""

    line: Label
    order: Label | None = None


class DespatchLineRef(Value, frozen=True, kw_only=True):
    """The line of a despatch that a receipt answers."""

    line: Label
    despatch: Label | None = None


def currency_wrong(field: str, currency: str) -> Iterator[FieldError]:
    """Refuse three letters that no money in use has."""
    if minor_units(currency) is None:
        yield FieldError(field, f"{currency} is no currency in use (ISO 4217); send a code such as GBP, EUR or USD")


def one_unit(measures: Iterable[tuple[str, Measure | None]]) -> Iterator[FieldError]:
    """Refuse quantities of one line that are counted in different units; each stands with its field."""
    told = [(field, measure.unit) for field, measure in measures if measure is not None]
    for field, unit in told[1:]:
        if unit != told[0][1]:
            yield FieldError(f"{field}/unit", f"{unit} is not the {told[0][1]} that the line is counted in")


def counted(measures: Iterable[tuple[str, Measure | None]]) -> Iterator[FieldError]:
    """Refuse a line that says of none of its quantities how many; the first is the one that is missed."""
    every = list(measures)
    if all(measure is None for _, measure in every):
        others = ", ".join(field for field, _ in every[1:])
        yield FieldError(every[0][0], f"is needed, or how many were {others}")
