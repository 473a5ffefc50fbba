import gzip
import json
import random
import sys
import zlib
from collections.abc import AsyncIterator, Callable, Iterator, Sequence

import httpx
import pytest

from service.domain.errors import TooLarge
from service.http import body
from service.http.coding import BrokenCoding, Inflater, decoded
from service.http.limits import MAX_BYTES
from tests.http.conftest import Refusing
from tests.http.firm import issued

if sys.version_info >= (3, 14):
    from compression import zstd
else:
    from backports import zstd

Code = Callable[[bytes], bytes]
WIDE: dict[int, int] = {zstd.CompressionParameter.window_log: 24, zstd.CompressionParameter.content_size_flag: 0}
MADE: dict[str, Code] = {"gzip": gzip.compress, "x-gzip": gzip.compress, "zstd": zstd.compress}
TEXT = json.dumps([issued() for _ in range(300)]).encode()
ZEROS = 256 * 1024 * 1024


def pieces(body: bytes, size: int) -> Iterator[bytes]:
    """Cut a body into pieces of a size."""
    return (body[start : start + size] for start in range(0, len(body), size))


def inflated(coding: str, body: Sequence[bytes]) -> bytes:
    """Undo a coding to its end."""
    inflater = Inflater(coding)
    found = b"".join(more for piece in body for more in inflater.feed(piece))
    inflater.end()
    return found


async def measured(pieces: AsyncIterator[bytes], sizes: list[int]) -> None:
    """Note the size of each piece."""
    async for piece in pieces:
        sizes += [len(piece)]


def bomb(coding: str) -> bytes:
    """Pack 256 MiB of zeros into less than 300 KiB."""
    if coding == "zstd":
        packer = zstd.ZstdCompressor()
        return b"".join(packer.compress(bytes(1024 * 1024)) for _ in range(256)) + packer.flush()
    zipper = zlib.compressobj(wbits=31)
    return b"".join(zipper.compress(bytes(1024 * 1024)) for _ in range(256)) + zipper.flush()


@pytest.mark.parametrize("coding", MADE)
@pytest.mark.parametrize("size", [1, 7, 1000, 10_000_000])
def test_coding_is_undone_whatever_pieces_it_comes_in(coding: str, size: int) -> None:
    """What was coded comes back, from single bytes as from one piece."""
    assert inflated(coding, list(pieces(MADE[coding](TEXT), size))) == TEXT


@pytest.mark.parametrize("coding", MADE)
@pytest.mark.parametrize("size", [5, 10_000_000])
def test_body_may_have_several_members(coding: str, size: int) -> None:
    """Members one behind the other are one body (RFC 1952 section 2.2, RFC 8878 section 3), empty ones among them."""
    body = MADE[coding](b"one ") + MADE[coding](b"") + MADE[coding](TEXT)

    assert inflated(coding, list(pieces(body, size))) == b"one " + TEXT


@pytest.mark.parametrize("coding", MADE)
def test_pieces_made_are_small(coding: str) -> None:
    """However much a piece inflates to, it is made 64 KiB at a time."""
    made = Inflater(coding).feed(bomb(coding))

    assert max(len(next(made)) for _ in range(10)) == 65_536


def test_exact_piece_is_made_whole() -> None:
    """What fills pieces to the byte has no rest that is forgotten."""
    noise = random.Random(7).randbytes(3 * 65_536)  # noqa: S311 - anything that does not shrink
    for coding, made in MADE.items():
        assert inflated(coding, [made(noise)]) == noise
        assert inflated(coding, [made(bytes(65_536))]) == bytes(65_536)


@pytest.mark.parametrize("coding", MADE)
@pytest.mark.parametrize(
    "spoilt",
    [
        lambda _: b"",
        lambda _: b'{"kind":"issued"}',
        lambda body: body[:-1],
        lambda body: body[: len(body) // 2],
        lambda body: body + b"more",
        lambda body: body[:40] + bytes(20) + body[60:],
    ],
    ids=("nothing", "not coded", "one byte short", "half", "something behind it", "corrupt"),
)
def test_torn_or_corrupt_coding_is_told(coding: str, spoilt: Code) -> None:
    """A body that is not whole in its coding is said to be so."""
    with pytest.raises(BrokenCoding):
        inflated(coding, [spoilt(MADE[coding](TEXT))])


def test_window_that_costs_much_memory_is_refused() -> None:
    """A window of zstd over 8 MiB is not opened (RFC 8878 section 3.1.1.1.2 asks no more of a reader)."""
    packer = zstd.ZstdCompressor(options=WIDE)

    with pytest.raises(BrokenCoding):
        inflated("zstd", [packer.compress(TEXT) + packer.flush()])


@pytest.mark.parametrize("coding", MADE)
async def test_stream_out_of_proportion_is_stopped(coding: str) -> None:
    """Past 4 MiB no more is made of a stream than 100 times what came, where nobody counts its bytes."""

    async def coming() -> AsyncIterator[bytes]:
        for piece in pieces(bomb(coding), 1000):
            yield piece

    made: list[int] = []
    with pytest.raises(TooLarge, match="inflates to more than 100 times"):
        await measured(decoded(coming(), coding), made)
    assert 0 < sum(made) <= 4_194_304


@pytest.mark.parametrize("coding", ["gzip", "zstd", "GZIP", "x-gzip", "identity"])
async def test_coded_events_are_recorded(firm: httpx.AsyncClient, administrator: dict[str, str], coding: str) -> None:
    """A batch may come coded; the answer is the same."""
    body = json.dumps([issued()]).encode()
    coded = MADE.get(coding.lower(), bytes)(body)
    headers = administrator | {"content-type": "application/json", "content-encoding": coding}
    answered = await firm.post("/v1/events", content=coded, headers=headers)

    assert (answered.status_code, answered.json()["results"][0]["status"]) == (207, 201)


@pytest.mark.parametrize("coding", ["gzip", "zstd"])
async def test_bomb_is_refused_before_it_is_inflated(
    firm: httpx.AsyncClient, administrator: dict[str, str], monkeypatch: pytest.MonkeyPatch, coding: str
) -> None:
    """256 MiB in a small body are 413, and little more than the limit of 4 MiB was ever made of them."""
    made, feed = 0, Inflater.feed

    def counting(self: Inflater, coded: bytes) -> Iterator[bytes]:
        nonlocal made
        for more in feed(self, coded):
            made += len(more)
            yield more

    monkeypatch.setattr(Inflater, "feed", counting)
    headers = administrator | {"content-type": "application/json", "content-encoding": coding}
    answered = await firm.post("/v1/events", content=bomb(coding), headers=headers)

    assert (answered.status_code, answered.json()["type"]) == (413, "/problems/too-large")
    assert MAX_BYTES < made <= MAX_BYTES + 65_536
    assert made < ZEROS


@pytest.mark.parametrize("coding", ["gzip", "zstd"])
async def test_coded_body_is_counted_as_it_comes_too(
    firm: httpx.AsyncClient, administrator: dict[str, str], coding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Members without end that say next to nothing are over the limit as well, here one of 256 KiB."""
    monkeypatch.setattr(body, "MAX_BYTES", 256 * 1024)
    short = MADE[coding](b" ")
    came = 0

    async def coming() -> AsyncIterator[bytes]:
        nonlocal came
        for _ in range(20):
            came += 64 * 1024
            yield short * (64 * 1024 // len(short))

    headers = administrator | {"content-type": "application/json", "content-encoding": coding}
    answered = await firm.post("/v1/events", content=coming(), headers=headers)

    assert (answered.status_code, answered.json()["type"]) == (413, "/problems/too-large")
    assert came < 20 * 64 * 1024


async def test_announced_length_is_refused_at_once(firm: httpx.AsyncClient, administrator: dict[str, str]) -> None:
    """A body that is announced to be over the limit is not waited for."""

    async def nothing() -> AsyncIterator[bytes]:
        raise AssertionError
        yield b""

    headers = administrator | {"content-type": "application/json", "content-length": "4194305"}
    answered = await firm.post("/v1/events", content=nothing(), headers=headers)

    assert (answered.status_code, answered.json()["limit"]) == (413, 4_194_304)


@pytest.mark.parametrize("media", ["application/json", "application/x-ndjson"])
@pytest.mark.parametrize(
    ("coding", "status", "problem"), [("gzip", 400, "broken-coding"), ("zstd", 400, "broken-coding")]
)
async def test_broken_body_is_a_problem(
    firm: httpx.AsyncClient, administrator: dict[str, str], media: str, coding: str, status: int, problem: str
) -> None:
    """A body of which nothing could be read is refused whole, as JSON and as lines."""
    headers = administrator | {"content-type": media, "content-encoding": coding}
    answered = await firm.post("/v1/events", content=b'{"kind":"issued"}\n', headers=headers)

    assert (answered.status_code, answered.json()["type"]) == (status, f"/problems/{problem}")
    assert coding in answered.json()["detail"]


@pytest.mark.parametrize("media", ["application/json", "application/x-ndjson"])
@pytest.mark.parametrize("coding", ["br", "deflate", "gzip, zstd", "nonsense"])
async def test_unknown_coding_is_told_what_is_known(refusing: Refusing, media: str, coding: str) -> None:
    """Another coding is 415 with those that are undone (RFC 9110 section 12.5.3)."""
    headers = refusing.administrator | {"content-type": media, "content-encoding": coding}
    answered = await refusing.http.post("/v1/events", content=b"{}\n", headers=headers)

    assert (answered.status_code, answered.json()["type"]) == (415, "/problems/unsupported-media")
    assert answered.headers["accept-encoding"] == "gzip, zstd, identity"
    assert answered.headers["accept-post"] == "application/json, application/x-ndjson"


@pytest.mark.parametrize("coding", ["gzip", "zstd"])
def test_members_that_hold_nothing_are_counted(coding: str) -> None:
    """A hundred empty members are taken, one more is refused: each costs work, and none makes anything."""
    nothing, something = MADE[coding](b""), MADE[coding](b"{}")
    inflater = Inflater(coding)
    assert b"".join(inflater.feed(something + nothing * 100 + something)) == b"{}{}"
    with pytest.raises(TooLarge):
        list(Inflater(coding).feed(nothing * 102))
