"""A stream cut into its lines, each a message, or refused by itself. A torn last line is none."""

from collections.abc import AsyncIterator
from typing import Final, NamedTuple

from service.domain.errors import LedgerError, OverLimit, TooLarge
from service.http.limits import check_levels

MAX_LINE: Final = 64 * 1024


class Line(NamedTuple):
    """A line that says something, by its number from 1; with `refused` nothing of it is looked at."""

    number: int
    text: bytes
    refused: LedgerError | None = None


async def lines(pieces: AsyncIterator[bytes]) -> AsyncIterator[list[Line]]:
    """Give the lines that end in each piece; the last needs no end, if the body has one."""
    cutter = Cutter()
    async for piece in pieces:
        yield cutter.feed(piece)
    yield cutter.feed(b"\n")


class Cutter:
    """Cuts at line ends, and holds of the line that has none yet as much as a line may have."""

    def __init__(self) -> None:
        self._number = 0
        self._begun = bytearray()

    def feed(self, piece: bytes) -> list[Line]:
        """Give the lines that end in a piece; empty ones are counted and passed over."""
        first, *others = piece.split(b"\n")
        self._hold(first)
        found = []
        for other in others:
            line = self._ended()
            if line is not None:
                found.append(line)
            self._hold(other)
        return found

    def _hold(self, text: bytes) -> None:
        self._begun += text[: MAX_LINE + 1 - len(self._begun)]

    def _ended(self) -> Line | None:
        text, self._begun = bytes(self._begun), bytearray()
        self._number += 1
        if len(text) > MAX_LINE:
            return Line(
                self._number,
                b"",
                TooLarge(f"A line may have {MAX_LINE} bytes: send a longer event by itself.", MAX_LINE),
            )
        if not text.strip():
            return None
        try:
            check_levels(text)
        except OverLimit as error:
            return Line(self._number, b"", error)
        return Line(self._number, text)
