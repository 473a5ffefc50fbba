"""Keeping: what is not accepted is kept, and what may be a report of a failure withdraws the unit it names (R45)."""

from collections.abc import Sequence
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.errors import Refused, UnknownReference
from service.domain.problem import Problem
from service.known import Memory
from service.problems import status_of
from service.recording.attempt import report_anew
from service.recording.desk import Desk
from service.recording.gist import gist
from service.recording.incoming import Read
from service.recording.medical import hushed, medical_fields
from service.recording.quota import MESSAGES, Used, told
from service.store.lock_kins import lock_kins
from service.store.open_of_key import open_of_key
from service.store.position import position
from service.store.reject import Rejected, Rejection, reject


class Arrived(Exception):
    """What some messages were to wait for has come from another process in the meantime: they are decided again."""

    def __init__(self, references: frozenset[str]) -> None:
        self.references = references
        super().__init__(", ".join(sorted(references)))


class Kept(msgspec.Struct, frozen=True):
    """What became of a refused message: the rejected message it is, if any, and the problem its sender is told."""

    rejected: UUID | None
    problem: Problem


async def keep(
    conn: AsyncConnection, organisation: UUID, memory: Memory, refused: Sequence[tuple[Read, Refused]]
) -> list[Kept]:
    """Keep refused messages, and fold the units again that they may report a failure of.

    The units are theirs before anything is read that they are judged by. Raises StaleContext, and Arrived.
    """
    rejections = [rejection(one, error) for one, error in refused]
    tags = {one.tag for one in rejections if one.adverse and one.tag is not None}
    await lock_kins(conn, organisation, tags)
    where = await position(conn, organisation)
    await memory.meet(conn, organisation, {one.incoming.sender.key for one, _ in refused})
    desk = Desk(conn, organisation, where, await memory.known(conn, organisation, where.context_seq))
    kept = await _reject_all(conn, organisation, rejections)
    waited_for = sorted({ref for one in rejections for ref in one.waiting_for})
    arrived = [reference for reference in waited_for if await desk.has_arrived(reference)]
    if arrived:
        raise Arrived(frozenset(arrived))
    await desk.open_tags(tags)
    await report_anew(desk, tags, context_seq=where.context_seq)
    return [Kept(one.id, told(error.problem(), one.kept)) for one, (_, error) in zip(kept, refused, strict=True)]


async def _reject_all(conn: AsyncConnection, organisation: UUID, rejections: Sequence[Rejection]) -> list[Rejected]:
    """Keep the messages as far as the quotas of their keys go."""
    used: dict[UUID, Used] = {}
    done: list[Rejected] = []
    for one in rejections:
        if one.key not in used:
            used[one.key] = Used(*await open_of_key(conn, organisation, one.key, MESSAGES))
        now = used[one.key]
        done.append(await reject(conn, organisation, one, room=now.room_for(one.body)))
        if done[-1].more:
            used[one.key] = now.and_one(one.body if done[-1].kept == "whole" else b"")
    return done


def rejection(one: Read, error: Refused) -> Rejection:
    """Give a message as it is kept."""
    found, sender = gist(one), one.incoming.sender
    fields = medical_fields(one.incoming.raw, found.kind) if one.event is None else None
    problem = error.problem()
    waits = tuple(error.references) if isinstance(error, UnknownReference) and error.waits else ()
    return Rejection(
        key=sender.key,
        role=sender.role,
        sites=None if sender.sites is None else sorted(sender.sites),
        received_at=sender.received_at,
        sent_at=found.sent_at or sender.sent_at,
        imported=sender.imported,
        body=one.incoming.raw,
        fields=fields,
        event=found.id,
        kind=found.kind,
        tag=found.tag,
        site=found.site or _only_site(one),
        device=found.device,
        device_seq=found.device_seq,
        adverse=found.adverse,
        status=status_of(problem),
        problem=msgspec.json.encode(problem if fields is None else hushed(problem)),
        waiting_for=waits,
    )


def _only_site(one: Read) -> str | None:
    """Give the site that a key of one site need not name."""
    sites = one.incoming.sender.sites
    return next(iter(sites)) if sites is not None and len(sites) == 1 else None
