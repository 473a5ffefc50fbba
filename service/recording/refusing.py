"""Refusing: what is not accepted is kept, and what may be a report of a failure withdraws the unit it names (R45)."""

import json
import re
from collections.abc import Sequence
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

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
        said = json.loads(one.incoming.raw.decode("utf-8", "replace"), strict=False, parse_int=float)
    except (ValueError, RecursionError):
        return _glimpsed(one.incoming.raw)
    return _told(said) if isinstance(said, dict) else Gist()


def _glimpsed(raw: bytes) -> Gist:
    """Find the words of a report in what is no JSON: a torn message may be one, too."""
    kind, tag = (found[1].decode() if (found := word.search(raw)) else None for word in (KIND, ASSET))
    bad = kind in ADVERSE or (kind in JUDGED and FAIL.search(raw) is not None)
    return Gist(kind=_word(kind), tag=_word(tag), adverse=tag is not None and bad)


def _told(said: dict[str, object]) -> Gist:
    kind, tag, site = (_word(said.get(name)) for name in ("kind", "asset", "site"))
    try:
        ident = UUID(str(said.get("id")))
    except ValueError:
        ident = None
    return Gist(ident, kind, tag, site, tag is not None and _is_bad(kind, said))


def _word(value: object) -> str | None:
    """Give a reference as far as it can be one."""
    return value if isinstance(value, str) and REFERENCE.fullmatch(value) else None


def _is_bad(kind: str | None, said: dict[str, object]) -> bool:
    """Say whether a message that could not be read may be bad news: every doubt falls on the safe side."""
    if kind in ADVERSE:
        return True
    points = said.get("points")
    failing = isinstance(points, dict) and "fail" in points.values()
    return kind in JUDGED and (failing or said.get("result") == "fail" or said.get("airflow_indicator") == "below")


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
