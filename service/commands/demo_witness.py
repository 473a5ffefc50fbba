"""Summaries saved while the demo loads and asked for again at the end: what was known then has to be known still."""

from typing import NamedTuple

import httpx
import msgspec

WANTED = 50
PATH = "/v1/compliance"


class Saved(NamedTuple):
    """A summary as it was answered, and the two moments it names."""

    as_at: str
    known_at: str
    body: bytes


class _Moments(msgspec.Struct, frozen=True):
    as_at: str
    known_at: str


class Changed(NamedTuple):
    """A summary that came out otherwise the second time."""

    saved: Saved
    body: bytes


class Witness:
    """Saves summaries at even distances, and asks for them again."""

    def __init__(self, client: httpx.AsyncClient, key: str, steps: int) -> None:
        self.saved: list[Saved] = []
        self._client, self._headers = client, {"Authorization": f"Bearer {key}"}
        self._due = {round(steps * (place + 1) / WANTED) for place in range(WANTED)}

    async def after(self, step: int, scenario_moment: str) -> None:
        """Save a summary where one is due: by turns of now, and of the scenario's own moment."""
        if step in self._due:
            asked = {} if len(self.saved) % 2 else {"as_at": scenario_moment}
            body = await self._ask(asked)
            moments = msgspec.json.decode(body, type=_Moments)
            self.saved.append(Saved(moments.as_at, moments.known_at, body))

    async def changed(self) -> list[Changed]:
        """Ask for every saved summary again; gives those that are not equal byte for byte."""
        again = [await self._ask({"as_at": saved.as_at, "known_at": saved.known_at}) for saved in self.saved]
        return [Changed(saved, body) for saved, body in zip(self.saved, again, strict=True) if saved.body != body]

    async def _ask(self, asked: dict[str, str]) -> bytes:
        """Ask for the summary of all sites."""
        answer = await self._client.get(PATH, params=asked, headers=self._headers)
        answer.raise_for_status()
        return answer.content
