"""Post one message to one address, and see whether it was taken.

A connection of its own for each message, made of the loop's streams and the parser that the server uses (httptools): a
name is resolved once and the address found is judged and connected to, which no second answer of the name can change;
redirects are not followed, proxies of the environment not asked, no cookie kept and nothing that was answered but its
status and `Retry-After`, because there is no code that would. A client library would have to be kept from each, and
takes a tenth of a second to import (httpx 0.28: 96 ms), a tenth of what a process may take to start.
"""

import asyncio
import ssl
from collections.abc import Awaitable, Callable, Mapping
from functools import cached_property
from http import HTTPStatus
from typing import Final, Literal, TypeAlias
from uuid import UUID

import httptools
import msgspec

from service.pushing.lookups import Lookups
from service.pushing.target import Target, may_connect

MOST_READ: Final = 64 * 1024
"""Bytes of an answer that are read at most, so that its sender is not hung up on; none is kept."""
MOST_ADDRESSES: Final = 4
"""How many addresses of a name are tried, one after the other."""
AGENT: Final = "respirator-ledger/1"
NOT_HTTP: Final = (httptools.HttpParserError, httptools.HttpParserUpgrade)
"""What the parser raises at what is none of HTTP, or goes on in another protocol, which nobody asked for."""
PASSING: Final = frozenset({HTTPStatus.REQUEST_TIMEOUT, HTTPStatus.TOO_EARLY, HTTPStatus.TOO_MANY_REQUESTS})
"""Statuses of 4xx that speak of the moment and not of the message (RFC 9110, RFC 8470, RFC 6585)."""

Failure: TypeAlias = Literal[
    "host-not-found",
    "address-refused",
    "not-connected",
    "tls-failed",
    "timed-out",
    "not-http",
    "redirected",
    "refused",
    "failing",
    "secret-lost",
    "service-failed",
]
"""Why a message was not taken: no such host, an address nothing is sent to, no connection or one that broke, a
certificate that does not hold, no status in time, none of HTTP, a redirect, a status of 4xx that speaks of the message,
any other; no secret, or a fault of the service itself."""
Resolve: TypeAlias = Callable[[UUID, str, int], Awaitable[list[str]]]
"""Gives the addresses of a host, to be reached at a port on behalf of an organisation."""


class Answered(msgspec.Struct, frozen=True):
    """What came of an attempt: the status, if any came, and why it failed; `wait` seconds were asked for."""

    status: int | None = None
    error: Failure | None = None
    wait: float | None = None


class Failed(Exception):
    """An attempt that got no status."""

    def __init__(self, error: Failure) -> None:
        super().__init__(error)
        self.error: Failure = error


class Way:
    """How this process reaches others: by which names, whether private addresses are allowed, how long it waits."""

    def __init__(self, *, private: bool, seconds: float, resolve: Resolve | None = None) -> None:
        self.private = private
        self.seconds = seconds
        self.resolve = resolve or Lookups().addresses

    @cached_property
    def trust(self) -> ssl.SSLContext:
        """Trust whom the system trusts, or whom SSL_CERT_FILE names; read when it is first needed."""
        return ssl.create_default_context()


async def post(way: Way, organisation: UUID, target: Target, headers: Mapping[str, str], body: bytes) -> Answered:
    """Post an organisation's message; every way in which that can fail is told, none is raised.

    A status counts, whatever follows it.
    """
    reading = _Reading()
    error: Failure = "not-connected"
    try:
        async with asyncio.timeout(way.seconds):
            addresses = await _addresses(way, organisation, target)
            await _exchange(way, target, addresses, written(target, headers, body), reading)
    except TimeoutError:
        error = "timed-out"
    except Failed as failed:
        error = failed.error
    except OSError:
        pass
    return Answered(error=error) if reading.status is None else reading.answered(reading.status)


def written(target: Target, headers: Mapping[str, str], body: bytes) -> bytes:
    """Write a request (RFC 9112)."""
    told = {
        "Host": target.authority,
        "User-Agent": AGENT,
        "Content-Length": str(len(body)),
        "Connection": "close",
    }
    lines = [f"POST {target.path} HTTP/1.1", *(f"{name}: {text}" for name, text in {**told, **headers}.items())]
    return "\r\n".join([*lines, "", ""]).encode("ascii") + body


async def _exchange(way: Way, target: Target, addresses: list[str], message: bytes, reading: "_Reading") -> None:
    reader, writer = await _connected(way, target, addresses)
    try:
        writer.write(message)
        await writer.drain()
        await _read(reader, reading)
    finally:
        writer.transport.abort()


async def _addresses(way: Way, organisation: UUID, target: Target) -> list[str]:
    """Resolve a host, once; one address that is not allowed among them has all refused: an honest name has none."""
    try:
        found = await way.resolve(organisation, target.host, target.port)
    except (OSError, UnicodeError) as error:  # a label that is too long is not even asked for
        raise Failed("host-not-found") from error
    if not found:
        raise Failed("host-not-found")
    if not all(may_connect(target, address, private=way.private) for address in found):
        raise Failed("address-refused")
    return found[:MOST_ADDRESSES]


async def _connected(
    way: Way, target: Target, addresses: list[str]
) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    """Connect to the first address that answers; the certificate must be the host's, by the name that was given."""
    trust, name = (way.trust, target.host) if target.tls else (None, None)
    for address in addresses:
        try:
            return await asyncio.open_connection(address, target.port, limit=MOST_READ, ssl=trust, server_hostname=name)
        except ssl.SSLError as error:
            raise Failed("tls-failed") from error
        except OSError:
            continue
    raise Failed("not-connected")


class _Reading:
    """What the parser tells of an answer: its status once its head is complete, and the one header that counts."""

    def __init__(self) -> None:
        self.parser = httptools.HttpResponseParser(self)
        self.status: int | None = None
        self.wait: float | None = None
        self.is_whole = False

    def on_header(self, name: bytes, value: bytes) -> None:
        """Note how long the receiver wants to be left alone."""
        if name.lower() == b"retry-after":
            self.wait = seconds_of(value.decode("latin-1"))

    def on_headers_complete(self) -> None:
        """Note the status, unless it is a provisional one (RFC 9110 section 15.2)."""
        status = self.parser.get_status_code()
        if status >= HTTPStatus.OK:
            self.status = status

    def on_message_complete(self) -> None:
        """Note that all is there, unless the final answer is still to come."""
        self.is_whole = self.status is not None

    def answered(self, status: int) -> Answered:
        """Tell what came of it."""
        return Answered(status, failure_of(status), self.wait)


async def _read(reader: asyncio.StreamReader, reading: _Reading) -> None:
    """Read an answer to its end, or as much as is read at most. Raises Failed where it is none of HTTP."""
    left = MOST_READ
    while left and not reading.is_whole:
        piece = await reader.read(left)
        if not piece:
            return
        left -= len(piece)
        try:
            reading.parser.feed_data(piece)
        except NOT_HTTP as error:
            raise Failed("not-http") from error
    if reading.status is None:
        raise Failed("not-http")


def failure_of(status: int) -> Failure | None:
    """Say why a status means that the message was not taken; None where it was."""
    if status in PASSING:
        return "failing"
    match status // 100:
        case 2:
            return None
        case 3:
            return "redirected"
        case 4:
            return "refused"
        case _:
            return "failing"


def seconds_of(text: str) -> float | None:
    """Read `Retry-After` where it is in seconds (RFC 9110 section 10.2.3); a date would mix two clocks."""
    return float(text) if text.isascii() and text.isdigit() and len(text) < 10 else None  # noqa: PLR2004 - 30 years
