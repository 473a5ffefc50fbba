"""A QR code as a path of SVG: one unit of the drawing is one module of the code."""

from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

QUIET = 4
"""Modules that stay white on every side (ISO/IEC 18004, section 6.3.8)."""


class Code(NamedTuple):
    """The path that is to be filled, and how wide and high code and margin are together."""

    path: str
    size: int


def code(text: str) -> Code:
    """Draw a QR code that can be read with a seventh of it lost (level M)."""
    import segno

    matrix = segno.make_qr(text, error="m").matrix
    strokes = (
        f"M{QUIET + begin} {QUIET + line}h{length}v1h-{length}z"
        for line, row in enumerate(matrix)
        for begin, length in _dark(row)
    )
    return Code("".join(strokes), len(matrix) + 2 * QUIET)


def _dark(row: bytearray) -> Iterator[tuple[int, int]]:
    """Find the dark stretches of a row: where each begins, and its length."""
    place = 0
    for dark, modules in groupby(row):
        length = len(list(modules))
        if dark:
            yield place, length
        place += length
