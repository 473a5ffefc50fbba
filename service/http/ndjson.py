"""Events posted as a stream of lines (NDJSON), and answered by one: a result for each line while others still come.

The lines are recorded in chunks, each durable before its results are told. Taking in never waits for the client to
read: results that it leaves lying are dropped and counted, and got by sending their lines again, which records nothing
twice. The last line of the answer tells what became of all. Before the first result the status is still open, so that
what fails without a line being taken in is answered as any problem is; later it stands in the last line.
"""

import asyncio
from collections import Counter
from collections.abc import AsyncIterator, Sequence
from contextlib import aclosing
from datetime import datetime
from typing import Any, Final

import msgspec
from litestar import Response
from litestar.response.base import ASGIResponse
from litestar.types import Receive, Send
from typing_extensions import override

from service.domain.errors import LedgerError
from service.http.answers import Answer
from service.http.body import sent
from service.http.chunks import chunks
from service.http.coding import coding_of, decoded
from service.http.failures import failure
from service.http.lines import Line, lines
from service.http.negotiation import NDJSON
from service.http.outbox import Outbox
from service.http.preferences import Handling
from service.http.receipts import OUTCOMES, outcome, result
from service.http.request import Asked, ledger_of, note
from service.problems import status_of
from service.record import Receipt, record

Told = dict[str, Any]


async def stream_answer(request: Asked, began: datetime, sent_at: datetime | None, how: Handling) -> Answer:
    """Take in the lines of a request; answer once there are results to tell."""
    taking = Taking(request, began, sent_at, how)
    return LineAnswer(taking, await taking.first())


class Taking:
    """The taking in of a stream of lines, and the count of what became of them."""

    def __init__(self, request: Asked, began: datetime, sent_at: datetime | None, how: Handling) -> None:
        self.request = request
        self._began, self._sent_at, self._how = began, sent_at, how
        self._lines = 0
        self._position: int | None = None
        self._counts: Counter[str] = Counter()
        self._chunks = chunks(lines(decoded(sent(request), coding_of(request))))

    async def first(self) -> list[Told]:
        """Take in the first chunk; give no results where there is no line. Raises what keeps it from being taken in."""
        chunk = await anext(self._chunks, None)
        return [] if chunk is None else await self._take(chunk)

    async def rest(self) -> AsyncIterator[list[Told]]:
        """Take in what else comes, and give the results of each chunk."""
        async with aclosing(self._chunks) as following:
            async for chunk in following:
                yield await self._take(chunk)

    async def _take(self, chunk: Sequence[Line]) -> list[Told]:
        """Record the lines of a chunk, each by itself, as received by now."""
        ledger = ledger_of(self.request)
        now = ledger.clock()
        receipts = iter(
            await record(
                ledger,
                self.request.auth,
                [line.text for line in chunk if line.refused is None],
                received_at=now,
                sent_at=self._senders_clock(now),
                **self._how._asdict(),
            )
        )
        told = [(line, next(receipts) if line.refused is None else _refused(line.refused)) for line in chunk]
        self._count(chunk[-1].number, [receipt for _, receipt in told])
        return [{"line": line.number, **result(receipt)} for line, receipt in told]

    def _senders_clock(self, now: datetime) -> datetime | None:
        """Give the sender's clock as it goes on from what it said with the head, which came before the lines."""
        return None if self._sent_at is None else self._sent_at + (now - self._began)

    def _count(self, line: int, receipts: Sequence[Receipt]) -> None:
        self._lines = line
        seqs = [receipt.seq for receipt in receipts if receipt.seq is not None]
        self._position = max(seqs, default=self._position)
        self._counts.update(outcome(receipt) for receipt in receipts)
        note(self.request, self.counts())

    def counts(self) -> dict[str, int]:
        """Give how many lines had each outcome."""
        return {word: self._counts[word] for word in OUTCOMES}

    def ending(self, dropped: int, problem: bytes | None) -> Told:
        """Tell the last line of the answer: up to which line all was taken in, what became of it, and where."""
        ending: Told = {"lines": self._lines, **self.counts(), "dropped": dropped, "position": self._position}
        return ending if problem is None else ending | {"problem": msgspec.Raw(problem)}


def _refused(error: LedgerError) -> Receipt:
    """Give the receipt of a line that is not looked at, and not kept."""
    problem = error.problem()
    return Receipt(id=None, status=status_of(problem), problem=problem)


class LineAnswer(Response[bytes]):
    """The answer that is sent while its request is still read."""

    def __init__(self, taking: Taking, first: Sequence[Told]) -> None:
        super().__init__(b"", status_code=200, media_type=NDJSON)
        self._taking, self._first = taking, first

    @override
    def to_asgi_response(self, *_: Any, **__: Any) -> ASGIResponse:
        return Lines(self._taking, self._first)


class Lines(ASGIResponse):
    """Sends results while more are made. The framework's own streams read the rest of the request to see it hang up."""

    _should_set_content_length = False

    def __init__(self, taking: Taking, first: Sequence[Told]) -> None:
        super().__init__(status_code=200, media_type=NDJSON, headers=UNBUFFERED)
        self._taking, self._first = taking, first

    @override
    async def send_body(self, send: Send, receive: Receive) -> None:
        """Take in and tell at once; that one waits for the client is no reason for the other to wait."""
        outbox = Outbox()
        async with asyncio.TaskGroup() as both:
            both.create_task(self._take_in(outbox))
            async for piece in outbox.pieces():
                await send({"type": "http.response.body", "body": piece, "more_body": True})
        await send({"type": "http.response.body", "body": b"", "more_body": False})

    async def _take_in(self, outbox: Outbox) -> None:
        problem = None
        put(outbox, self._first)
        try:
            async for results in self._taking.rest():
                put(outbox, results)
        except Exception as error:  # noqa: BLE001 -- the status is sent: whatever it is, the last line tells it
            problem = failure(self._taking.request, error).content
        outbox.close(line_of(self._taking.ending(outbox.dropped, problem)))


def put(outbox: Outbox, results: Sequence[Told]) -> None:
    """Have results sent, a line each."""
    for told in results:
        outbox.put(line_of(told))


def line_of(told: Told) -> bytes:
    """Write a line."""
    return msgspec.json.encode(told) + b"\n"


#: A word that some proxies know for an answer which is to be passed on as it comes.
UNBUFFERED: Final = {"X-Accel-Buffering": "no"}
