"""The gist of a refused message: which event and unit it may have been about, and whether it may be bad news (R45).

Also which device it is of, as its how many-th event, and when that says to have sent it.
"""

import re
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

import msgspec

from service.domain.doubled import Members, named, parsed
from service.domain.words import FIRST_YEAR, LAST_YEAR, REF_PATTERN, Instant
from service.recording.incoming import Read

ADVERSE = frozenset({"failed-check", "failed-in-use", "quarantined", "missing"})
REFERENCE = re.compile(REF_PATTERN)
KIND = re.compile(rb'"kind"\s*:\s*"([a-z-]{1,40})"')
ASSET = re.compile(rb'"asset"\s*:\s*"([A-Za-z0-9._-]{1,40})"')
FAIL = re.compile(rb':\s*"(fail|below)"')
JUDGED = frozenset({"checked", "examined"})
EXACT = 2**53


class Gist(msgspec.Struct, frozen=True):
    """What can be read of a message that is no event: enough to know whether it may be bad news, and of which unit."""

    id: UUID | None = None
    kind: str | None = None
    tag: str | None = None
    site: str | None = None
    adverse: bool = False
    device: str | None = None
    device_seq: int | None = None
    sent_at: datetime | None = None


def gist(one: Read) -> Gist:
    """Read what can be read of a refused message."""
    event = one.event
    if event is not None:
        tag = getattr(event, "asset", None) if event.family == "asset" else None
        adverse, sent_at = event.adverse() and tag is not None, one.incoming.sender.sent_at
        return Gist(event.id, event.kind, tag, event.site, adverse, event.device, event.device_seq, sent_at)
    try:
        said = parsed(one.incoming.raw.decode("utf-8", "replace"))
    except (ValueError, RecursionError):
        return _glimpsed(one.incoming.raw)
    return _told(said, one.incoming.sender.sent_at) if isinstance(said, tuple) else Gist()


def _glimpsed(raw: bytes) -> Gist:
    """Find the words of a report in what is no JSON: a torn message may be one, too."""
    kinds, tags = ([found.decode() for found in word.findall(raw)] for word in (KIND, ASSET))
    bad = _worst(kinds, failing=FAIL.search(raw) is not None)
    return Gist(kind=bad or _word(kinds), tag=_word(tags), adverse=bool(tags) and bad is not None)


def _told(said: Members, sent_at: datetime | None) -> Gist:
    """Tell a message by its members; of one that stands twice the last word, but the worst of what it may mean."""
    kinds, tags, sites = (list(named(said, name)) for name in ("kind", "asset", "site"))
    try:
        ident = UUID(str(next(named(said, "id"), None)))
    except ValueError:
        ident = None
    bad, tag = _worst(kinds, failing=_fails(said)), _word(tags)
    device, number = _word(list(named(said, "device"))), _number(next(named(said, "device_seq"), None))
    clock = _instant(next(named(said, "sent_at"), None)) or sent_at
    adverse = tag is not None and bad is not None
    return Gist(ident, bad or _word(kinds), tag, _word(sites), adverse, device, number, clock)


def _word(values: Sequence[object]) -> str | None:
    """Give the last reference, as far as there is one."""
    words = [value for value in values if isinstance(value, str) and REFERENCE.fullmatch(value)]
    return words[-1] if words else None


def _number(value: object) -> int | None:
    """Give a counter; numbers are parsed as floats, which are whole and exact as far as this."""
    return int(value) if isinstance(value, float) and value.is_integer() and 0 <= value <= EXACT else None


def _instant(value: object) -> datetime | None:
    """Give a moment that an event could state."""
    try:
        moment = msgspec.convert(value, Instant)
    except msgspec.ValidationError:
        return None
    return moment if FIRST_YEAR <= moment.year <= LAST_YEAR else None


def _worst(kinds: Sequence[object], *, failing: bool) -> str | None:
    """Name a kind by which a message may be bad news; every doubt falls on the safe side."""
    bad = ADVERSE | JUDGED if failing else ADVERSE
    return next((kind for kind in kinds if isinstance(kind, str) and kind in bad), None)


def _fails(said: Members) -> bool:
    """Say whether what a message says of a check or an examination may be a failure."""
    points = [result for one in named(said, "points") if isinstance(one, tuple) for _, result in one]
    results = [*points, *named(said, "result")]
    return "fail" in results or "below" in list(named(said, "airflow_indicator"))
