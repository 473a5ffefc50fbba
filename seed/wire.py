"""HTTP for the loader: a connection a request, the standard library alone."""

import asyncio
from collections.abc import Mapping
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from urllib.parse import urlsplit

import msgspec

PATIENCE_SECONDS = 180
TOLD = 800


class LoadError(Exception):
    """The demo could not be loaded.

    NoAnswer   the service did not answer
    Refused    a whole request was refused
    Unexpected one message of a batch was answered otherwise than it should be
    """


class NoAnswer(LoadError):
    """The service did not answer."""

    def __init__(self, method: str, path: str, error: Exception) -> None:
        super().__init__(f"{method} {path}: no answer: {error!r}")


class Answer(msgspec.Struct, frozen=True):
    """What came back: the status and the body as bytes."""

    status: int
    body: bytes


class Refused(LoadError):
    """A whole request was refused."""

    def __init__(self, path: str, answer: Answer) -> None:
        super().__init__(f"{path}: {answer.status} {answer.body[:TOLD]!r}")


class Wire:
    """The way to the service, for any number of callers at once.

    Each request takes a connection of its own, so that of several processes that serve it comes to one that is free: a
    kept connection stays with the process that took it, however busy that is.
    """

    def __init__(self, base_url: str) -> None:
        address = urlsplit(base_url)
        self._kind = HTTPSConnection if address.scheme == "https" else HTTPConnection
        self._host, self._port = address.hostname or "127.0.0.1", address.port
        self._prefix = address.path.rstrip("/")

    async def post(self, path: str, key: str, body: bytes, more: Mapping[str, str]) -> Answer:
        """Post JSON. LoadError where no answer comes."""
        return await asyncio.to_thread(self._ask, "POST", path, key, body, {"Content-Type": "application/json", **more})

    async def get(self, path: str, key: str) -> Answer:
        """Get JSON. LoadError where no answer comes."""
        return await asyncio.to_thread(self._ask, "GET", path, key, None, {})

    def _ask(self, method: str, path: str, key: str, body: bytes | None, more: Mapping[str, str]) -> Answer:
        headers = {"Authorization": f"Bearer {key}", "Accept": "application/json", "Connection": "close", **more}
        connection = self._kind(self._host, self._port, timeout=PATIENCE_SECONDS)
        try:
            connection.request(method, self._prefix + path, body, headers)
            response = connection.getresponse()
            return Answer(response.status, response.read())
        except (OSError, HTTPException) as error:
            raise NoAnswer(method, path, error) from error
        finally:
            connection.close()
