"""The service as this ERP sees it: a few requests over HTTP, each of which may be sent again."""

import json
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from typing import Any
from urllib.parse import quote, urlsplit

PATIENCE = 30
"""Seconds an answer is waited for."""
Json = dict[str, Any]


class RefusedError(Exception):
    """The service said no: its problem says why, and what to send instead."""

    def __init__(self, problem: Json) -> None:
        super().__init__(problem.get("detail", problem))


class Service:
    """The service at an address, asked with a key."""

    def __init__(self, address: str, key: str) -> None:
        self._at, self._key = urlsplit(address), key

    def reorders(self, state: str) -> list[Json]:
        """Give every proposal in a state, page after page."""
        found: list[Json] = []
        after: str | None = ""
        while after is not None:
            page = self._ask("GET", f"/v1/reorders?state={state}" + (f"&after={quote(after)}" if after else ""))
            found += page["reorders"]
            after = page["next"]
        return found

    def reorder(self, proposal: str) -> Json:
        """Give one proposal as it is now."""
        return self._ask("GET", f"/v1/reorders/{proposal}")

    def approve(self, proposal: str, said: Json) -> Json:
        """Approve what is proposed."""
        return self._ask("POST", f"/v1/reorders/{proposal}/approval", said)

    def place(self, proposal: str, said: Json) -> Json:
        """Say under which number it was ordered."""
        return self._ask("POST", f"/v1/reorders/{proposal}/placement", said)

    def post(self, event: Json) -> Json:
        """Post an event."""
        return self._ask("POST", "/v1/events", event)

    def make_webhook(self, url: str, kinds: list[str]) -> Json:
        """Have events of these kinds sent to an address."""
        return self._ask("POST", "/v1/webhooks", {"url": url, "kinds": kinds, "purpose": "an example of an ERP"})

    def _ask(self, method: str, path: str, said: Json | None = None) -> Json:
        """Ask, and give the answer. Raises RefusedError, and OSError while the service or a proxy before it is away.

        An answer that breaks off, or is no JSON, is none.
        """
        https = self._at.scheme == "https"
        connection = (HTTPSConnection if https else HTTPConnection)(self._at.netloc, timeout=PATIENCE)
        headers = {"Authorization": f"Bearer {self._key}", "Content-Type": "application/json"}
        try:
            connection.request(method, path, None if said is None else json.dumps(said), headers)
            answer = connection.getresponse()
            told: Json = json.load(answer)
        except (HTTPException, ValueError) as error:
            broken = f"no answer that can be read: {error!r}"
            raise OSError(broken) from error
        finally:
            connection.close()
        if answer.status >= 400:
            raise RefusedError(told)
        return told
