"""Data identifiers (ISO/IEC 15418): the few that name a part, its lot, its serial number and its dates.

Source: ANS MH10.8.2-2016, the dictionary that ISO/IEC 15418 refers to. An identifier without a row is told by itself.
"""

from collections.abc import Mapping
from typing import Final

TITLES: Final[Mapping[str, str]] = {
    "P": "item, by the customer",
    "1P": "item, by the supplier",
    "Q": "quantity",
    "S": "serial number",
    "25S": "unique item",
    "T": "lot, by the customer",
    "1T": "lot, by the supplier",
    "14D": "expiry",
    "16D": "production",
    "25D": "best before",
}
PARTS: Final = ("1P", "P")
LOTS: Final = ("1T", "T")
SERIALS: Final = ("S", "25S")
"""Which identifier says it, the first that there is."""
EXPIRY: Final = "14D"
DATES: Final = frozenset({"14D", "16D", "25D"})
"""Whose value is a date, YYYYMMDD."""
