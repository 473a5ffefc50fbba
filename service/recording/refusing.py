"""Refusing: what is not accepted is kept, and what may be a report of a failure withdraws the unit it names (R45)."""

import re
from collections.abc import Sequence
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.doubled import Members, parsed
from service.domain.errors import Refused, UnknownReference
from service.domain.words import REF_PATTERN
from service.known import Memory
from service.problems import status_of
from service.recording.attempt import report_anew
from service.recording.desk import Desk
from service.recording.incoming import Read
from service.store.errors import StaleContext
from service.store.lock_kins import lock_kins
from service.store.position import position
from service.store.reject import Rejection, reject

ARRIVED = "references"
ADVERSE = frozenset({"failed-check", "failed-in-use", "quarantined", "missing"})
REFERENCE = re.compile(REF_PATTERN)
KIND = re.compile(rb'"kind"\s*:\s*"([a-z-]{1,40})"')
ASSET = re.compile(rb'"asset"\s*:\s*"([A-Za-z0-9._-]{1,40})"')
FAIL = re.compile(rb':\s*"(fail|below)"')
JUDGED = frozenset({"checked", "examined"})


class Gist(msgspec.Struct, frozen=True):
    """What can be read of a message that is no event: enough to know whether it may be bad news, and of which unit."""

    id: UUID | None = None
    kind: str | None = None
    tag: str | None = None
    site: str | None = None
    adverse: bool = False


def gist(one: Read) -> Gist:
    """Read what can be read of a refused message."""
    event = one.event
    if event is not None:
        tag = getattr(event, "asset", None) if event.family == "asset" else None
        return Gist(event.id, event.kind, tag, event.site, event.adverse() and tag is not None)
    try:
        said = parsed(one.incoming.raw.decode("utf-8", "replace"))
    except (ValueError, RecursionError):
        return _glimpsed(one.incoming.raw)
    return _told(said) if isinstance(said, Members) else Gist()


def _glimpsed(raw: bytes) -> Gist:
    """Find the words of a report in what is no JSON: a torn message may be one, too."""
    kinds, tags = ([found.decode() for found in word.findall(raw)] for word in (KIND, ASSET))
    bad = _worst(kinds, failing=FAIL.search(raw) is not None)
    return Gist(kind=bad or _word(kinds), tag=_word(tags), adverse=bool(tags) and bad is not None)


def _told(said: Members) -> Gist:
    """Tell a message by its members; of one that stands twice the last word, but the worst of what it may mean."""
    kinds, tags, sites = (list(said.named(name)) for name in ("kind", "asset", "site"))
    try:
        ident = UUID(str(next(said.named("id"), None)))
    except ValueError:
        ident = None
    bad, tag = _worst(kinds, failing=_fails(said)), _word(tags)
    return Gist(ident, bad or _word(kinds), tag, _word(sites), tag is not None and bad is not None)


def _word(values: Sequence[object]) -> str | None:
    """Give the last reference, as far as there is one."""
    words = [value for value in values if isinstance(value, str) and REFERENCE.fullmatch(value)]
    return words[-1] if words else None


def _worst(kinds: Sequence[object], *, failing: bool) -> str | None:
    """Name a kind by which a message may be bad news; every doubt falls on the safe side."""
    bad = ADVERSE | JUDGED if failing else ADVERSE
    return next((kind for kind in kinds if isinstance(kind, str) and kind in bad), None)


def _fails(said: Members) -> bool:
    """Say whether what a message says of a check or an examination may be a failure."""
    points = [result for one in said.named("points") if isinstance(one, Members) for _, result in one]
    results = [*points, *said.named("result")]
    return "fail" in results or "below" in list(said.named("airflow_indicator"))


def _only_site(one: Read) -> str | None:
    """Give the site that a key of one site need not name."""
    sites = one.incoming.sender.sites
    return next(iter(sites)) if sites is not None and len(sites) == 1 else None


def rejection(one: Read, error: Refused) -> Rejection:
    """Give a message as it is kept."""
    told, sender = gist(one), one.incoming.sender
    problem = error.problem()
    waits = (error.reference,) if isinstance(error, UnknownReference) and error.waits else ()
    return Rejection(
        key=sender.key,
        role=sender.role,
        sites=None if sender.sites is None else sorted(sender.sites),
        received_at=sender.received_at,
        sent_at=sender.sent_at,
        imported=sender.imported,
        body=one.incoming.raw,
        event=told.id,
        kind=told.kind,
        tag=told.tag,
        site=told.site or _only_site(one),
        adverse=told.adverse,
        status=status_of(problem),
        problem=msgspec.json.encode(problem),
        waiting_for=waits,
    )


async def keep(
    conn: AsyncConnection, organisation: UUID, memory: Memory, refused: Sequence[tuple[Read, Refused]]
) -> list[UUID]:
    """Keep refused messages, and fold the units again that they may report a failure of.

    Raises StaleContext, also where what a message waits for has come from another process in the meantime.
    """
    where = await position(conn, organisation)
    await memory.meet(conn, organisation, {one.incoming.sender.key for one, _ in refused})
    desk = Desk(conn, organisation, where, await memory.known(conn, organisation, where.context_seq))
    rejections = [rejection(one, error) for one, error in refused]
    tags = {kept.tag for kept in rejections if kept.adverse and kept.tag is not None}
    await lock_kins(conn, organisation, tags)
    ids = [await reject(conn, organisation, kept) for kept in rejections]
    for reference in sorted({ref for kept in rejections for ref in kept.waiting_for}):
        if await desk.has_arrived(reference):
            raise StaleContext(ARRIVED)
    await desk.open_tags(tags)
    await report_anew(desk, tags)
    return ids
