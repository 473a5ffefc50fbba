"""Labels: lots and serial numbers as they are compared, by reading 55 of the oracle."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

IGNORED = frozenset(
    {0xAD, 0x34F, 0x61C, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x3164, 0xFEFF, 0xFFA0}
    | {*range(0x180B, 0x1810), *range(0x200B, 0x2010), *range(0x202A, 0x202F), *range(0x2060, 0x2070)}
    | {*range(0xFE00, 0xFE10), *range(0xFFF0, 0xFFF9), *range(0x1D173, 0x1D17B), *range(0xE0000, 0xE1000)}
    | {*range(0x1BCA0, 0x1BCA4)}
)
"""What Unicode has a page leave out (Default_Ignorable_Code_Point)."""
DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"


@lru_cache(10_000)
def plain(label: str) -> str:
    """Take a label apart into letters and accents, put them in capitals, and together again; a dash is a hyphen."""
    apart = unicodedata.normalize("NFKD", "".join(sign for sign in label if ord(sign) not in IGNORED))
    for dash in DASHES:
        apart = apart.replace(dash, "-")
    apart = apart.replace("\u1e9e", "SS")
    return unicodedata.normalize("NFKC", "".join(sign.upper() for sign in apart)).strip()


@lru_cache(100_000)
def compare(one: str, other: str) -> int:
    """Compare two labels character by character, runs of digits as numbers: negative, zero or positive."""
    left, right = list(plain(one)), list(plain(other))
    while left and right:
        if left[0] in "0123456789" and right[0] in "0123456789":
            difference = number(left) - number(right)
        else:
            difference = ord(left.pop(0)) - ord(right.pop(0))
        if difference:
            return difference
    return len(left) - len(right)


def number(left: list[str]) -> int:
    """Take a run of digits from the front."""
    digits = ""
    while left and left[0] in "0123456789":
        digits += left.pop(0)
    return int(digits)
