"""Amounts of money and numbers of things: exact, and written one way only.

Minor units are those of ISO 4217, as the package iso4217 has them.
"""

from decimal import ROUND_HALF_UP, Decimal

from iso4217 import Currency


def minor_units(currency: str) -> int | None:
    """Give how many decimals the amounts of a currency have; None for what is no currency in use, or has none."""
    try:
        return Currency(currency).exponent
    except ValueError:
        return None


def exact(number: float) -> Decimal:
    """Give a number of an event as it was posted: 0.1 is one tenth."""
    return Decimal(repr(number))


def plain(number: Decimal) -> str:
    """Write a number without exponent or trailing zeros; nought has no sign."""
    text = f"{number or abs(number):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def spelled(number: float) -> str:
    """Write a number of an event as a person reads it: 60.0 is 60."""
    return plain(exact(number))


def priced(amount: Decimal, currency: str) -> str:
    """Write an amount with at least the decimals of its currency: 18.4 pounds is 18.40, and a price may be finer."""
    text, wanted = plain(amount), minor_units(currency) or 0
    whole, _, fraction = text.partition(".")
    return f"{whole}.{fraction.ljust(wanted, '0')}" if fraction or wanted else whole


def extended(quantity: Decimal, price: Decimal, currency: str, per: Decimal = Decimal(1)) -> Decimal:
    """Give what a quantity costs at a price per so many, rounded half up to the decimals of the currency."""
    return (quantity * price / per).quantize(Decimal(1).scaleb(-(minor_units(currency) or 0)), ROUND_HALF_UP)
