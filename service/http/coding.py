"""Content codings of a request's body (RFC 9110 section 8.4): undone as a stream, never further than is asked for.

A body may say little and mean much: what it inflates to is made a piece at a time, so that whoever reads can stop; and
past what any body may have, no more than `RATIO` times what came is made of it, since events, each with an id of its
own, never shrink that far.
"""

import sys
import zlib
from collections.abc import AsyncIterator, Callable, Iterator
from typing import Final, Protocol

from service.domain.errors import LedgerError, TooLarge, UnsupportedMedia
from service.http.limits import MAX_BYTES
from service.http.request import Asked, list_field

if sys.version_info >= (3, 14):
    from compression import zstd
else:
    from backports import zstd

PIECE: Final = 64 * 1024
"""The most that is made of a body at once, in bytes."""
RATIO: Final = 100
GZIP: Final = 31
"""What zlib calls the format of gzip with the widest window."""
WIDEST: Final = 23
"""Windows of zstd up to 8 MiB, which every reader has to offer (RFC 8878 section 3.1.1.1.2); wider ones cost memory."""
MOST_EMPTY: Final = 100
"""Members of a coded body that may hold nothing."""
IDENTITY: Final = "identity"


class BrokenCoding(LedgerError):
    """The body is not what its Content-Encoding says, or ends before its coding does."""

    code = "broken-coding"

    def __init__(self, coding: str) -> None:
        super().__init__(f"The body is not whole in the coding {coding!r}: it is torn, or something else.")


class Member(Protocol):
    """What undoes one member of a coded body, which may have several (RFC 1952 section 2.2, RFC 8878 section 3)."""

    @property
    def eof(self) -> bool:
        """Whether the member is whole."""

    @property
    def unused_data(self) -> bytes:
        """What came behind it."""

    def decompress(self, data: bytes, max_length: int) -> bytes:
        """Give so many bytes at most, with more of them to be had for no more data."""


class Gzip:
    """A member of gzip, that keeps what it has not read yet as zstd's does."""

    def __init__(self) -> None:
        self._inner = zlib.decompressobj(wbits=GZIP)

    @property
    def eof(self) -> bool:
        """Whether the member is whole, its check sum right."""
        return self._inner.eof

    @property
    def unused_data(self) -> bytes:
        """What came behind it."""
        return self._inner.unused_data

    def decompress(self, data: bytes, max_length: int) -> bytes:
        """Give so many bytes at most."""
        return self._inner.decompress(self._inner.unconsumed_tail + data, max_length)


def _zstd() -> Member:
    return zstd.ZstdDecompressor(options={zstd.DecompressionParameter.window_log_max: WIDEST})


#: By the name of a coding; `x-gzip` is the same as gzip (RFC 9110 section 8.4.1.3).
MEMBERS: Final[dict[str, Callable[[], Member]]] = {"gzip": Gzip, "x-gzip": Gzip, "zstd": _zstd}
CODINGS: Final = ("gzip", "zstd", IDENTITY)
"""What a sender is told that it may use."""


def coding_of(request: Asked) -> str:
    """Give the coding of a request's body. Raises UnsupportedMedia for one that is not undone here."""
    coding = (list_field(request, "content-encoding") or IDENTITY).strip().lower()
    if coding != IDENTITY and coding not in MEMBERS:
        detail = f"A body may have one coding of {', '.join(CODINGS)} as its Content-Encoding, or none."
        raise UnsupportedMedia(detail)
    return coding


def decoded(pieces: AsyncIterator[bytes], coding: str) -> AsyncIterator[bytes]:
    """Undo the coding of a body. Raises BrokenCoding, and TooLarge for a body that is out of all proportion."""
    return pieces if coding == IDENTITY else _inflated(pieces, coding)


async def _inflated(pieces: AsyncIterator[bytes], coding: str) -> AsyncIterator[bytes]:
    inflater, came, made = Inflater(coding), 0, 0
    async for piece in pieces:
        came += len(piece)
        for more in inflater.feed(piece):
            made += len(more)
            if made > max(MAX_BYTES, RATIO * came):
                detail = f"The body inflates to more than {RATIO} times what was sent."
                raise TooLarge(detail, RATIO)
            yield more
    inflater.end()


class Inflater:
    """Undoes a coding, whatever pieces the body comes in."""

    def __init__(self, coding: str) -> None:
        self._coding = coding
        self._begin = MEMBERS[coding]
        self._member = self._begin()
        self._made = False
        self._empty = 0

    def feed(self, coded: bytes) -> Iterator[bytes]:
        """Give what comes of a piece, in pieces. Raises BrokenCoding."""
        try:
            while coded:
                if self._member.eof:
                    self._next()
                yield from self._drain(coded)
                coded = self._member.unused_data
        except (zlib.error, zstd.ZstdError) as error:
            raise BrokenCoding(self._coding) from error

    def _next(self) -> None:
        """Begin another member. Raises TooLarge where too many said nothing: each costs work, however short it is."""
        self._empty += not self._made
        if self._empty > MOST_EMPTY:
            detail = f"A body may have {MOST_EMPTY} members of its coding that hold nothing."
            raise TooLarge(detail, MOST_EMPTY)
        self._member, self._made = self._begin(), False

    def _drain(self, coded: bytes) -> Iterator[bytes]:
        """Give all that the member makes of it."""
        more = self._member.decompress(coded, PIECE)
        while more:
            self._made = True
            yield more
            more = b"" if self._member.eof or len(more) < PIECE else self._member.decompress(b"", PIECE)

    def end(self) -> None:
        """Make sure that the body ended where its coding does. Raises BrokenCoding."""
        if not self._member.eof:
            raise BrokenCoding(self._coding)
