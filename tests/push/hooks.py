"""What a firm does with its webhooks over HTTP."""

from typing import Any, NamedTuple

import httpx

Headers = dict[str, str]


class Hook(NamedTuple):
    """A webhook as it was made, in the hands of a key."""

    http: httpx.AsyncClient
    headers: Headers
    made: dict[str, Any]

    @property
    def path(self) -> str:
        """Give its address."""
        return f"/v1/webhooks/{self.made['webhook']}"

    @property
    def secret(self) -> str:
        """Give the secret it was made with."""
        return str(self.made["secret"])

    async def read(self) -> tuple[dict[str, Any], str]:
        """Read it, and its tag."""
        answered = await self.http.get(self.path, headers=self.headers)
        assert answered.status_code == 200, answered.text
        return answered.json(), answered.headers["etag"]

    async def put(self, **said: Any) -> httpx.Response:
        """Change it from what it is now."""
        found, tag = await self.read()
        wish = {name: found[name] for name in ("url", "purpose", "kinds", "site", "subject")} | said
        return await self.http.put(self.path, json=wish, headers=self.headers | {"if-match": tag})

    async def told(self, what: str = "deliveries", **asked: Any) -> dict[str, Any]:
        """Read its deliveries, or its dead letters."""
        answered = await self.http.get(f"{self.path}/{what}", params=asked, headers=self.headers)
        assert answered.status_code == 200, answered.text
        return dict(answered.json())

    async def until(self, **progress: Any) -> dict[str, Any]:
        """Ask until its progress is so; whoever waits for nothing to come is not told."""
        while True:
            told = await self.told()
            if progress.items() <= told["progress"].items():
                return told

    async def until_state(self, state: str) -> dict[str, Any]:
        """Ask until it is in a state."""
        while True:
            found, _ = await self.read()
            if found["state"] == state:
                return found

    async def post(self, what: str, json: Any = None) -> httpx.Response:
        """Post to something of it."""
        body = {} if json is None else {"json": json}
        return await self.http.post(f"{self.path}/{what}", headers=self.headers, **body)


async def hooked(http: httpx.AsyncClient, headers: Headers, url: str, **said: Any) -> Hook:
    """Make a webhook for all there is from the beginning."""
    answered = await http.post("/v1/webhooks", json={"url": url, "after": 0} | said, headers=headers)
    assert answered.status_code == 201, answered.text
    return Hook(http, headers, answered.json())
