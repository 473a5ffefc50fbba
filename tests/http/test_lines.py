import asyncio
from collections.abc import AsyncIterator

import pytest

from service.http.chunks import chunks
from service.http.lines import Cutter, Line, lines

LONG = b"7" * 65_537


async def whole(*pieces: bytes) -> list[Line]:
    """Cut a stream that ends as it should."""

    async def coming() -> AsyncIterator[bytes]:
        for piece in pieces:
            yield piece

    return [line async for found in lines(coming()) for line in found]


async def gather(coming: AsyncIterator[list[Line]], found: list[Line]) -> None:
    """Keep what comes, also where a failure follows it."""
    async for some in coming:
        found += some


@pytest.mark.parametrize(
    ("pieces", "found"),
    [
        ((b"",), []),
        ((b"1\n2\n",), [(1, b"1"), (2, b"2")]),
        ((b"1\n2",), [(1, b"1"), (2, b"2")]),
        ((b"1\r\n2\r\n",), [(1, b"1\r"), (2, b"2\r")]),
        ((b"\n\n1\n  \n\t\r\n2\n\n",), [(3, b"1"), (6, b"2")]),
        ((b"1", b"2", b"\n", b"3"), [(1, b"12"), (2, b"3")]),
    ],
)
async def test_stream_is_cut_at_line_ends(pieces: tuple[bytes, ...], found: list[tuple[int, bytes]]) -> None:
    """Each line has its number and its text, empty ones only their number; the last needs no end."""
    assert [(line.number, line.text) for line in await whole(*pieces)] == found


async def test_line_without_an_end_is_none_where_the_body_has_none() -> None:
    """A body that breaks off leaves the lines that had ended, and no torn one."""

    async def torn() -> AsyncIterator[bytes]:
        yield b"1\n2\n3"
        raise ConnectionError

    found: list[Line] = []
    with pytest.raises(ConnectionError):
        await gather(lines(torn()), found)
    assert [line.text for line in found] == [b"1", b"2"]


@pytest.mark.parametrize("size", [100, 65_536, 10_000_000])
def test_long_line_is_refused_by_itself(size: int) -> None:
    """A line over 64 KiB is refused, whatever pieces it comes in, and the lines around it are read."""
    body = b"1\n" + LONG + b"\n" + LONG[1:] + b"\n2\n"
    cutter = Cutter()
    found = [line for start in range(0, len(body), size) for line in cutter.feed(body[start : start + size])]

    assert [(line.number, len(line.text)) for line in found] == [(1, 1), (2, 0), (3, 65_536), (4, 1)]
    assert [line.refused and line.refused.problem().code for line in found] == [None, "too-large", None, None]


def test_line_without_end_costs_no_memory() -> None:
    """Of a line that never ends no more is held than a line may have."""
    cutter = Cutter()
    for _ in range(100):
        cutter.feed(LONG)

    assert len(cutter._begun) == 65_537


async def test_line_nested_too_deep_is_refused_by_itself() -> None:
    """A line nested deeper than any event is refused, the next one is read."""
    deep, plain = await whole(b"[" * 40 + b"]" * 40 + b"\n{}")

    assert (deep.text, deep.refused and deep.refused.problem().code) == (b"", "too-deep")
    assert (plain.number, plain.refused) == (2, None)


def made(count: int, size: int = 1) -> list[Line]:
    """Make lines."""
    return [Line(number, b"7" * size) for number in range(1, count + 1)]


async def test_chunk_has_500_lines_at_most() -> None:
    """What comes at once is cut into chunks of 500, the rest at the end."""

    async def coming() -> AsyncIterator[list[Line]]:
        yield made(1_201)

    assert [len(chunk) async for chunk in chunks(coming())] == [500, 500, 201]


async def test_chunk_has_no_more_bytes_than_a_body(monkeypatch: pytest.MonkeyPatch) -> None:
    """Long lines are not gathered beyond 4 MiB, although the count of lines would allow 32."""
    monkeypatch.setattr("service.http.chunks.WAIT", 60)

    async def coming() -> AsyncIterator[list[Line]]:
        for _ in range(130):
            yield made(1, 65_536)

    assert [len(chunk) async for chunk in chunks(coming())] == [64, 64, 2]


async def test_chunk_waits_for_no_line_that_does_not_come() -> None:
    """A line that has come is given although the next does not come until it is."""
    was_given = asyncio.Event()

    async def coming() -> AsyncIterator[list[Line]]:
        yield made(1)
        await was_given.wait()
        yield made(2)

    found = []
    async with asyncio.timeout(10):
        async for chunk in chunks(coming()):
            found.append(len(chunk))
            was_given.set()
    assert found == [1, 2]


async def test_lines_before_a_failure_are_given_before_it_is_raised() -> None:
    """What came before the body broke off is worked on first."""

    async def coming() -> AsyncIterator[list[Line]]:
        yield made(3)
        yield made(4)
        raise ConnectionError

    found: list[Line] = []
    with pytest.raises(ConnectionError):
        await gather(chunks(coming()), found)
    assert len(found) == 7


async def test_no_more_is_taken_in_than_is_handed_out() -> None:
    """Lines shorter than what a chunk has room for do not pile up: the next piece waits until there is room."""
    taken = 0

    async def coming() -> AsyncIterator[list[Line]]:
        nonlocal taken
        for _ in range(50):
            taken += 1
            yield [Line(1, b"1")] * 5000

    handed = 0
    async for chunk in chunks(coming()):
        handed += len(chunk)
        assert taken * 5000 - handed <= 2 * 5000
    assert handed == 50 * 5000
