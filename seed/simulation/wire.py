"""HTTP for the devices: a message alone, an array, or lines, and what became of each; and hanging up before the answer.

Nothing is sent but to the one address that the simulation is given.
"""

import asyncio
import gzip
import ssl
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from email.utils import format_datetime
from time import perf_counter
from typing import Literal

import httpx
import msgspec

from seed.book import Message
from seed.simulation.devices import Device
from seed.simulation.journal import Journal

EVENTS = "/v1/events"
AT_ONCE = 256
"""How many requests wait for their answers at a time."""
PATIENCE_SECONDS = 120
HANGS_UP_AFTER = 0.001
WHO_ASKS = "checks"
PAUSE_SECONDS = 0.05
MULTI_STATUS, OK = 207, 200
COME_BACK = frozenset({429, 503})

Form = Literal["alone", "array", "lines"]


class Problem(msgspec.Struct, frozen=True):
    """Why a message was not recorded; `waits` says that it will be by itself when what it names comes."""

    detail: str = ""
    waits: bool = False


class Result(msgspec.Struct, frozen=True):
    """What became of one message; `line` is its number where it was one of lines. Their last line tells of none."""

    status: int = 0
    seq: int = 0
    recorded_at: str = ""
    outcome: str = ""
    problem: Problem | None = None
    line: int = 0


class _Alone(msgspec.Struct, frozen=True):
    """What became of a message that was posted alone: the receipt, or the problem itself."""

    seq: int = 0
    recorded_at: str = ""
    outcome: str = ""
    detail: str = ""
    waits: bool = False


class _Results(msgspec.Struct, frozen=True):
    results: list[Result]


class Wire:
    """The way to the service, past any proxy. Each device has a client of its own, so that it keeps one connection."""

    def __init__(self, address: str, journal: Journal) -> None:
        self._address, self._journal = address, journal
        self._tls = ssl.create_default_context()
        self._clients: dict[str, httpx.AsyncClient] = {}
        self._room = asyncio.Semaphore(AT_ONCE)

    def _client(self, name: str) -> httpx.AsyncClient:
        """Give the client of a device."""
        if name not in self._clients:
            self._clients[name] = httpx.AsyncClient(
                base_url=self._address, timeout=PATIENCE_SECONDS, verify=self._tls, trust_env=False
            )
        return self._clients[name]

    async def close(self) -> None:
        """Close every connection."""
        for client in self._clients.values():
            await client.aclose()

    async def post(self, device: Device, key: str, messages: Sequence[Message], form: Form) -> list[Result | None]:
        """Post messages; give what became of each, None where it is to be sent again."""
        async with self._room:
            self._journal.counts["requests"] += 1
            body, headers = _packed(device, messages, form)
            began = perf_counter()
            try:
                answer = await self._client(device.name).post(EVENTS, content=body, headers=_keyed(headers, key))
            except httpx.TransportError:
                self._journal.counts["lost"] += 1
                await asyncio.sleep(PAUSE_SECONDS)
                return [None] * len(messages)
            self._journal.answered(answer.status_code, perf_counter() - began, device.name)
        if answer.status_code in COME_BACK:
            self._journal.counts["asked to come back"] += 1
            await asyncio.sleep(int(answer.headers.get("Retry-After", "1")))
            return [None] * len(messages)
        return _read(answer, len(messages), form)

    async def hang_up(self, device: Device, key: str, messages: Sequence[Message], form: Form) -> None:
        """Post messages and hang up before the answer; what it says, if it comes all the same, nobody reads."""
        async with self._room:
            self._journal.counts["hung up"] += 1
            body, headers = _packed(device, messages, form)
            timeout = httpx.Timeout(PATIENCE_SECONDS, read=HANGS_UP_AFTER)
            headers = _keyed(headers, key)
            with suppress(httpx.TransportError):
                await self._client(device.name).post(EVENTS, content=body, headers=headers, timeout=timeout)

    async def get(self, path: str, key: str, **asked: str) -> httpx.Response:
        """Ask for something."""
        async with self._room:
            began = perf_counter()
            headers = _keyed({"Accept": "application/json"}, key)
            answer = await self._client(WHO_ASKS).get(path, params=asked, headers=headers)
            self._journal.asks.append(perf_counter() - began)
        return answer


def _keyed(headers: Mapping[str, str], key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}", **headers}


def _packed(device: Device, messages: Sequence[Message], form: Form) -> tuple[bytes, dict[str, str]]:
    """Write the body and the headers, with the device's clock at this moment where it states one."""
    shown = device.shows(datetime.now(UTC))
    headers = {"Date": format_datetime(shown, usegmt=True)} if device.says == "Date" else {}
    if device.says == "sent_at":
        messages = [message | {"sent_at": shown.isoformat()} for message in messages]
    if form == "lines":
        body = b"".join(msgspec.json.encode(message) + b"\n" for message in messages)
        return gzip.compress(body, 1), headers | {"Content-Type": "application/x-ndjson", "Content-Encoding": "gzip"}
    body = msgspec.json.encode(messages[0] if form == "alone" else messages)
    return body, headers | {"Content-Type": "application/json"}


def _read(answer: httpx.Response, count: int, form: Form) -> list[Result | None]:
    """Read what became of each message."""
    if form == "lines" and answer.status_code == OK:
        told = {one.line: one for one in map(_RESULT.decode, answer.content.splitlines())}
        return [told.get(number) for number in range(1, count + 1)]
    if form == "array" and answer.status_code == MULTI_STATUS:
        return list(_RESULTS.decode(answer.content).results)
    told_alone = _ALONE.decode(answer.content)
    problem = Problem(told_alone.detail, told_alone.waits) if told_alone.detail else None
    one = Result(answer.status_code, told_alone.seq, told_alone.recorded_at, told_alone.outcome, problem)
    return [one] * count


_ALONE = msgspec.json.Decoder(_Alone)
_RESULT = msgspec.json.Decoder(Result)
_RESULTS = msgspec.json.Decoder(_Results)
