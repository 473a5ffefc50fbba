"""HTTP for the loader: one kept connection, the standard library alone."""

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
    """One connection to the service, used by one caller at a time."""

    def __init__(self, base_url: str) -> None:
        address = urlsplit(base_url)
        kind = HTTPSConnection if address.scheme == "https" else HTTPConnection
        self._connection = kind(address.hostname or "127.0.0.1", address.port, timeout=PATIENCE_SECONDS)
        self._prefix = address.path.rstrip("/")

    def close(self) -> None:
        """Hang up."""
        self._connection.close()

    async def post(self, path: str, key: str, body: bytes, more: Mapping[str, str]) -> Answer:
        """Post JSON. LoadError where no answer comes."""
        return await asyncio.to_thread(self._ask, "POST", path, key, body, {"Content-Type": "application/json", **more})

    async def get(self, path: str, key: str) -> Answer:
        """Get JSON. LoadError where no answer comes."""
        return await asyncio.to_thread(self._ask, "GET", path, key, None, {})

    def _ask(self, method: str, path: str, key: str, body: bytes | None, more: Mapping[str, str]) -> Answer:
        headers = {"Authorization": f"Bearer {key}", "Accept": "application/json", **more}
        try:
            return self._once(method, path, body, headers)
        except (OSError, HTTPException):
            # A server may hang up on a connection that rested; every message has an id, so sending again is safe.
            self._connection.close()
        try:
            return self._once(method, path, body, headers)
        except (OSError, HTTPException) as error:
            raise NoAnswer(method, path, error) from error

    def _once(self, method: str, path: str, body: bytes | None, headers: Mapping[str, str]) -> Answer:
        self._connection.request(method, self._prefix + path, body, dict(headers))
        response = self._connection.getresponse()
        return Answer(response.status, response.read())
