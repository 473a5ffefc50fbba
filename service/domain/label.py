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
from functools import cached_property, lru_cache
from unicodedata import normalize

from service.domain.words import UNSEEN

DIGITS = re.compile(r"[0-9]+")
SILENT = re.compile(f"[{UNSEEN}\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff]")
"""What says nothing, of other planes too, which stand in no pattern: not every reader of a schema takes them."""
DASHES = re.compile("[\u2010-\u2015\u2212]")
"""Hyphens and dashes, as texts and tables break them."""
SHARP_S = "\u1e9e"
"""The capital that the small letter has not, which is upper-cased to two."""
KEPT, KEPT_LONG = 16384, 512
"""Labels whose order is kept: those of ASCII, and others, which may be eighteen times as long as they were sent."""


def normal(label: str) -> str:
    """Give a label as it is compared: by NFKC, without what is not seen, upper-cased and trimmed.

    Letters are taken apart before they are upper-cased, since the capital of one with its accents may be several, and
    put together after. It is "" for what says nothing.
    """
    if label.isascii():
        return label.upper().strip()
    apart = DASHES.sub("-", normalize("NFKD", SILENT.sub("", label))).replace(SHARP_S, "SS")
    return normalize("NFKC", apart.upper()).strip()


def sorting(label: str) -> str:
    """Give a text whose order by code points is that of the labels; it is the same for those that are the same."""
    return _sorting(label) if label.isascii() else _sorting_long(label)


def _sorted(label: str) -> str:
    return DIGITS.sub(_number, normal(label))


_sorting, _sorting_long = lru_cache(maxsize=KEPT)(_sorted), lru_cache(maxsize=KEPT_LONG)(_sorted)


def _number(digits: re.Match[str]) -> str:
    """Write a number after how many digits it has: no label has as many as a thousand."""
    number = digits[0].lstrip("0") or "0"
    return f"0{len(number):03d}{number}"


def same(label: str, other: str) -> bool:
    """Say whether two labels are the same."""
    return sorting(label) == sorting(other)


def lies_between(label: str, first: str | None, last: str | None) -> bool:
    """Say whether a label lies in a range, whichever way round its ends stand: both belong, None is no end."""
    if first is None and last is None:
        return True
    at = sorting(label)
    low, high = (None if end is None else sorting(end) for end in (first, last))
    if low is not None and high is not None:
        return min(low, high) <= at <= max(low, high)
    return (low is None or at >= low) and (high is None or at <= high)


class LabelList(tuple[str, ...]):  # noqa: SLOT001 - what it keeps is made when it is first asked for
    """Labels among which others are looked for: what is worked out for that is kept with them, and goes with them.

    Of a cache for all lists there would be too few places as soon as a firm has many recalls.
    """

    @cached_property
    def sortings(self) -> frozenset[str]:
        """Give the texts by which those that are the same are found."""
        return frozenset(map(sorting, self))


def is_among(label: str, labels: tuple[str, ...]) -> bool:
    """Say whether a label is the same as one of others."""
    return sorting(label) in (labels.sortings if isinstance(labels, LabelList) else map(sorting, labels))


def reach(labels: Collection[str], first: str | None, last: str | None) -> list[tuple[str, str | None]]:
    """Give the stretches, in the order of `sorting`, in which what is one of the labels and in the range lies.

    Both ends belong to a stretch, None is no end. Without labels any may be meant.
    """
    if labels:
        return [(sorting(label), sorting(label)) for label in labels if lies_between(label, first, last)]
    low, high = (None if end is None else sorting(end) for end in (first, last))
    if low is not None and high is not None:
        return [(min(low, high), max(low, high))]
    return [(low or "", high)]
