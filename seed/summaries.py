"""Summaries saved while the demo loads, and asked again when it is loaded: what was known then must read the same."""

from collections.abc import Sequence
from datetime import UTC, datetime
from urllib.parse import urlencode

import msgspec

from seed.wire import Refused, Wire

OK = 200


class Saved(msgspec.Struct, frozen=True):
    """A summary as it was answered once, with the two moments it says it is for."""

    as_at: str
    known_at: str
    body: bytes


class _Moments(msgspec.Struct, frozen=True):
    as_at: str
    known_at: str


async def save(wire: Wire, key: str, as_at: datetime) -> Saved:
    """Ask for the summary of all sites as at a moment, with all that is known now."""
    body = await _ask(wire, key, as_at=as_at.astimezone(UTC).isoformat())
    moments = msgspec.json.decode(body, type=_Moments)
    return Saved(moments.as_at, moments.known_at, body)


async def changed(wire: Wire, key: str, saved: Sequence[Saved]) -> tuple[str, ...]:
    """Ask each summary again by its own two moments; give the `as_at` of those whose bytes differ.

    One after another, since each takes a while to work out, and others are served meanwhile.
    """
    again = [one for one in saved if await _ask(wire, key, as_at=one.as_at, known_at=one.known_at) != one.body]
    return tuple(sorted(one.as_at for one in again))


async def _ask(wire: Wire, key: str, **moments: str) -> bytes:
    path = f"/v1/compliance?{urlencode(moments)}"
    answer = await wire.get(path, key)
    if answer.status != OK:
        raise Refused(path, answer)
    return answer.body
