"""Money and units: exact, in the decimals and codes of the standards."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from service.domain.money import exact, extended, minor_units, plain, priced
from service.domain.value import FieldError
from service.outbound.ubl.documents import OrderLine, ResponseLine
from service.outbound.ubl.parts import Item, Measure, Price, Total
from service.outbound.ubl.plain_text import meant
from service.reference.units import PACKAGES, UNITS, USUAL, unit_wrong
from tests.outbound.ubl_documents import many


@pytest.mark.parametrize(
    ("currency", "units"),
    [
        ("JPY", 0),
        ("GBP", 2),
        ("BHD", 3),
        ("KWD", 3),
        ("TND", 3),
        ("CLF", 4),
        ("XXX", None),
        ("ABC", None),
        ("gbp", None),
    ],
)
def test_minor_units_are_those_of_iso_4217(currency: str, units: int | None) -> None:
    """The yen has none, the dinar of Bahrain three; what is no money has none to speak of."""
    assert minor_units(currency) == units


@pytest.mark.parametrize(
    ("amount", "currency", "written"),
    [
        ("18.4", "GBP", "18.40"),
        ("18.40", "GBP", "18.40"),
        ("0.0125", "GBP", "0.0125"),
        ("1E+3", "GBP", "1000.00"),
        ("1840.0", "JPY", "1840"),
        ("1.5", "BHD", "1.500"),
        ("0", "BHD", "0.000"),
    ],
)
def test_amounts_are_written_one_way(amount: str, currency: str, written: str) -> None:
    """At least the decimals of the currency, and no more than the amount has."""
    assert priced(Decimal(amount), currency) == written


@pytest.mark.parametrize(
    ("quantity", "price", "currency", "per", "total"),
    [
        ("3", "0.335", "GBP", "1", "1.01"),
        ("60", "18.4", "GBP", "4", "276.00"),
        ("3", "33.5", "JPY", "1", "101"),
        ("1", "0.0005", "BHD", "1", "0.001"),
    ],
)
def test_totals_are_rounded_half_up_to_the_coins(
    quantity: str, price: str, currency: str, per: str, total: str
) -> None:
    """What is to be paid is in whole coins."""
    assert str(extended(Decimal(quantity), Decimal(price), currency, Decimal(per))) == total


@pytest.mark.parametrize(
    ("amount", "currency"), [("1840.5", "JPY"), ("1.2345", "BHD"), ("0.005", "GBP"), ("1", "XXX"), ("1", "GPB")]
)
def test_totals_that_nobody_can_pay_are_refused(amount: str, currency: str) -> None:
    """A total has no finer parts than its currency, which there is."""
    with pytest.raises(FieldError):
        Total(amount=Decimal(amount), currency=currency)


def test_numbers_are_exact_and_plain() -> None:
    """A number of an event is what was posted, and is written without exponent."""
    assert [plain(exact(number)) for number in (0.1, 60.0, 1_000_000.0, 0.0001)] == ["0.1", "60", "1000000", "0.0001"]
    assert plain(exact(-0.0)) == "0"


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("12", "12"),
        ("+060.50", "60.5"),
        ("100", "100"),
        ("12.", "12"),
        (".5", "0.5"),
        (".0", "0"),
        (".00", "0"),
        ("0.0", "0"),
        ("-0", "0"),
        ("-.0", "0"),
        ("-1.50", "-1.5"),
        ("1234567890123456789012345678901234567.8", "1234567890123456789012345678901234567.8"),
        (".", None),
        ("", None),
        ("1e3", None),
        ("1 000", None),
        ("1_000", None),
        ("12\n", None),
        ("0x10", None),
        ("9" * 41, None),
    ],
)
def test_numbers_of_xml_schema_are_read_plainly(text: str, number: str | None) -> None:
    """A number may begin or end with its point, and nought has no sign; exponents and groups are none."""
    assert (meant(text, "number"), meant(text, "amount")) == (number, number)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-25", "2026-11-25"),
        ("2026-11-25Z", "2026-11-25"),
        ("2026-11-25+14:00", "2026-11-25"),
        ("2026-11-25-11:30", "2026-11-25"),
        ("2026-11-25+14:01", None),
        ("2026-11-25+99:99", None),
        ("2026-11-25T00:00:00", None),
        ("26-11-25", None),
        ("-2026-11-25", None),
    ],
)
def test_days_are_those_that_are_written(text: str, day: str | None) -> None:
    """An offset moves no day, and is one that XML Schema knows; a moment is no day."""
    assert meant(text, "day") == day


@pytest.mark.parametrize("value", ["-1", "1000000.5", "0.00001", "NaN", "Infinity"])
def test_quantities_that_no_store_counts_are_refused(value: str) -> None:
    """A quantity is finite and within bounds."""
    with pytest.raises(FieldError):
        Measure(value=Decimal(value), unit="C62")


PER_BOX = Price(amount=Decimal("18.4"), currency="GBP", per=Measure(value=Decimal(1), unit="XBX"))


@pytest.mark.parametrize(
    "made",
    [
        lambda: OrderLine(id="1", quantity=many("60"), price=PER_BOX, item=Item(item="pf-170")),
        lambda: ResponseLine(id="1", quantity=many("60"), price=PER_BOX, item=Item()),
        lambda: ResponseLine(id="1", backorder=many("60"), price=PER_BOX, item=Item()),
    ],
)
def test_prices_are_in_the_unit_of_their_line(made: Callable[[], object]) -> None:
    """What a box costs says nothing of what sixty single ones cost."""
    with pytest.raises(FieldError) as error:
        made()
    assert (error.value.field, error.value.detail) == (
        "price/per/unit",
        "XBX is not the C62 that the line is counted in",
    )


@pytest.mark.parametrize("code", [*USUAL, "EA", "H87", "DZN", "NAR", "KGM", "LTR", "XCT", "X1"])
def test_units_are_codes_of_recommendation_20_and_packages_with_an_x(code: str) -> None:
    """What consumables are counted in has a code."""
    assert unit_wrong(code) is None


@pytest.mark.parametrize("code", ["BX", "CT", "PK"])
def test_a_package_is_no_unit_without_its_x(code: str) -> None:
    """Recommendation 20 knows no box: the sentence names the code that is meant."""
    assert unit_wrong(code) == f"{code} is a package and no unit: as a unit it is X{code} (UN/ECE Recommendation 21)"


@pytest.mark.parametrize("code", ["", "box", "each", "c62", "XXX9", "X"])
def test_other_words_are_no_units(code: str) -> None:
    """A word of the firm's own is answered with the usual codes."""
    assert unit_wrong(code) == (
        "must be a code of UN/ECE Recommendation 20 such as C62 (one), PR (pair), SET (set), XBX (box), "
        "XPK (package), MTR (metre)"
    )


def test_the_lists_have_as_many_codes_as_their_source() -> None:
    """2,162 codes stand in the list that the table was taken from, 406 of them packages."""
    assert (len(UNITS), len(PACKAGES)) == (1756, 406)
