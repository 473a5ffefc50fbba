"""Site apps that send each event until it is acknowledged, and the journal of what they were told."""

import asyncio
import re
from collections import Counter
from collections.abc import Iterator
from http import HTTPStatus

import msgspec

LENGTH = re.compile(rb"\r\ncontent-length: *(\d+)\r\n", re.IGNORECASE)
CONNECTION_LOST = (ConnectionError, asyncio.IncompleteReadError)
PAUSE_SECONDS = 0.05


class Acknowledged(msgspec.Struct, frozen=True):
    """What an answer promises: the event is in the log at this place, since this moment."""

    id: str
    seq: int
    recorded_at: str


class Batch(msgspec.Struct, frozen=True):
    """What an answer promises of an array: of each event what it would have been promised alone."""

    results: list[Acknowledged]


class Refused(msgspec.Struct, frozen=True):
    """What a refusal promises: the message is kept under this name."""

    rejected: str


class Journal:
    """What was acknowledged, by id; `statuses` counts every answer, `in_flight` the requests without one yet.

    Told twice, an event must be told to stand at the same place since the same moment, and a refused message, of which
    `refused` has the bodies, to be kept under the same name.
    """

    def __init__(self) -> None:
        self.acknowledged: dict[str, Acknowledged] = {}
        self.refused: dict[bytes, str] = {}
        self.statuses: Counter[int] = Counter()
        self.lost = 0
        self.in_flight = 0
        self.more = asyncio.Condition()

    async def reaches(self, count: int) -> None:
        """Wait until so many events are acknowledged."""
        async with self.more:
            await self.more.wait_for(lambda: len(self.acknowledged) >= count)

    async def note(self, status: int, body: bytes, sent: bytes) -> bool:
        """Note an answer, and say whether it is an acknowledgement."""
        self.statuses[status] += 1
        match status:
            case HTTPStatus.OK | HTTPStatus.CREATED:
                every = [msgspec.json.decode(body, type=Acknowledged)]
            case HTTPStatus.MULTI_STATUS:
                every = msgspec.json.decode(body, type=Batch).results
            case HTTPStatus.UNPROCESSABLE_ENTITY:
                kept = msgspec.json.decode(body, type=Refused).rejected
                assert self.refused.setdefault(sent, kept) == kept
                return True
            case _:
                return False
        for told in every:
            assert self.acknowledged.setdefault(told.id, told) == told
        async with self.more:
            self.more.notify_all()
        return True


class Sender:
    """One site app with one connection at a time."""

    def __init__(self, port: int, key: str, journal: Journal) -> None:
        self.port, self.key, self.journal = port, key, journal

    async def send(self, bodies: Iterator[bytes]) -> None:
        """Send events, arrays of them or what is refused, each until it is acknowledged."""
        body = next(bodies, None)
        while body is not None:
            try:
                reader, writer = await asyncio.open_connection("127.0.0.1", self.port)
            except ConnectionError:
                await asyncio.sleep(PAUSE_SECONDS)
                continue
            try:
                while body is not None:
                    if await self._asked(reader, writer, body):
                        body = next(bodies, None)
                    else:
                        await asyncio.sleep(PAUSE_SECONDS)
            except CONNECTION_LOST:
                self.journal.lost += 1
            finally:
                writer.close()

    async def _asked(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, body: bytes) -> bool:
        head = (
            f"POST /v1/events HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {self.key}\r\n"
            f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
        )
        self.journal.in_flight += 1
        try:
            writer.write(head.encode() + body)
            start = await reader.readuntil(b"\r\n\r\n")
            found = LENGTH.search(start)
            answer = await reader.readexactly(int(found[1]) if found else 0)
        finally:
            self.journal.in_flight -= 1
        return await self.journal.note(int(start[9:12]), answer, body)
