"""Forms: bytes with gaps where the names of a sample stood, to be filled with those of any number of others at once."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import repeat
from typing import Self

from tests.bench.scale.telling import MAGIC

LIKELY = re.compile(
    rb"[FG]X-999999|SN-(?:0007)?1999999"
    rb"|(?:site|kiosk)-000[0-3]|p-000[0-3]-"
    rb"|[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
    rb"|" + re.escape(MAGIC.to_bytes(4, "big")) + rb".{12}"
    rb'|(?<="device_seq":)9[0-9]{6}|\xce\x00[\x89-\x8f]..'
    rb"|hmac-sha256:[A-Za-z0-9_-]{43}",
    re.DOTALL,
)
"""What a name of the sample may look like: in text, as sixteen bytes, or as a number in MessagePack."""


class Gap(bytes):
    """A name that stands alone: what fills it is as long as `size` says."""

    size: int

    def __new__(cls, name: bytes, size: int) -> Self:
        """Name it."""
        made = super().__new__(cls, name)
        made.size = size
        return made


Piece = bytes | Gap
Columns = Mapping[bytes, Sequence[bytes]]
"""By name of the sample: those of all members, in their order."""


class Form:
    """Bytes with gaps."""

    def __init__(self, pieces: Iterable[Piece]) -> None:
        every = list(pieces)
        self.gaps = tuple(bytes(piece) for piece in every if isinstance(piece, Gap))
        self.size = sum(piece.size if isinstance(piece, Gap) else len(piece) for piece in every)
        self._text = b"".join(b"%b" if isinstance(piece, Gap) else piece.replace(b"%", b"%%") for piece in every)

    def filled(self, columns: Columns, members: int) -> Iterable[bytes]:
        """Give the bytes of every member."""
        if not self.gaps:
            return repeat(self._text % (), members)
        return map(self._text.__mod__, zip(*(columns[gap] for gap in self.gaps), strict=True))


def parted(text: bytes, names: Collection[bytes]) -> Iterator[Piece]:
    """Part a text at the names that stand in it."""
    done = 0
    for found in LIKELY.finditer(text):
        name = found[0]
        if name in names:
            yield text[done : found.start()]
            yield Gap(name, len(name))
            done = found.end()
    yield text[done:]
