"""Labels: serials and lots as they are compared, whoever typed them (R13, R34).

Spaces around a label and the case of its letters mean nothing, nor does how a device writes its characters: wide or
narrow, with an accent of its own or after the letter (Unicode: compatibility, NFKC), with one dash or another, or with
what nobody sees among them, as a reader or a table puts before and within a number. In doubt two are one, so that no
recall misses a piece.

In order, runs of the digits 0 to 9 count as numbers, so that B25-9 comes before B25-10 and leading zeros mean nothing
either; every other character counts by its code point.
"""

import re
from collections.abc import Collection
from functools import lru_cache
from unicodedata import normalize

from service.domain.words import UNSEEN

Place = tuple[tuple[int, int], ...]

PIECES = re.compile(r"[0-9]+|[^0-9]")
DIGIT = ord("0")
SILENT = re.compile(f"[{UNSEEN}\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff]")
"""What says nothing, of other planes too, which stand in no pattern: not every reader of a schema takes them."""
ALIKE = {ord("\u1e9e"): "SS", ord("\u2212"): "-"} | dict.fromkeys(range(8208, 8214), "-")
"""What is written in several ways: hyphens and dashes, as texts and tables break them, and the capital of sharp s."""


def normal(label: str) -> str:
    """Give a label as it is compared: by NFKC, without what is not seen, upper-cased and trimmed.

    Letters are taken apart before they are upper-cased, since the capital of one with its accents may be several, and
    put together after. It is "" for what says nothing.
    """
    apart = normalize("NFKD", SILENT.sub("", label)).translate(ALIKE)
    return normalize("NFKC", apart.upper()).strip()


@lru_cache(maxsize=16384)
def place(label: str) -> Place:
    """Give the place of a label among others; those of one place are the same label."""
    return tuple(
        (DIGIT, int(piece)) if piece.isascii() and piece.isdecimal() else (ord(piece), 0)
        for piece in PIECES.findall(normal(label))
    )


def same(label: str, other: str) -> bool:
    """Say whether two labels are the same."""
    return place(label) == place(other)


def lies_between(label: str, first: str | None, last: str | None) -> bool:
    """Say whether a label lies in a range, whichever way round its ends stand: both belong, None is no end."""
    if first is not None and last is not None:
        low, high = sorted((place(first), place(last)))
        return low <= place(label) <= high
    return (first is None or place(label) >= place(first)) and (last is None or place(label) <= place(last))


@lru_cache(maxsize=16384)
def sorting(label: str) -> str:
    """Give a text whose order by code points is that of the labels; it is the same for those of one place."""
    return "".join(_sorting(*piece) for piece in place(label))


def _sorting(code: int, number: int) -> str:
    """Write a number after how many digits it has: no label has as many as a thousand."""
    return f"0{len(str(number)):03d}{number}" if code == DIGIT else chr(code)


@lru_cache(maxsize=1024)
def sortings(labels: tuple[str, ...]) -> frozenset[str]:
    """Give the texts of labels by which those of one place are found, worked out once for a list."""
    return frozenset(map(sorting, labels))


def is_among(label: str, labels: tuple[str, ...]) -> bool:
    """Say whether a label is the same as one of others."""
    return sorting(label) in sortings(labels)


def reach(labels: Collection[str], first: str | None, last: str | None) -> list[tuple[str, str | None]]:
    """Give the stretches, in the order of `sorting`, in which what is one of the labels and in the range lies.

    Both ends belong to a stretch, None is no end. Without labels any may be meant.
    """
    if labels:
        return [(sorting(label), sorting(label)) for label in labels if lies_between(label, first, last)]
    if first is not None and last is not None:
        first, last = sorted((first, last), key=place)
    return [("" if first is None else sorting(first), None if last is None else sorting(last))]
