"""Messages that were not accepted."""

from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

import msgspec
from msgspec import Meta

from service.domain.words import Instant
from service.http.limits import MAX_BYTES
from service.http.shapes.moment import Paged
from service.http.shapes.problem import Problem
from service.http.shapes.words import Count, Page, Seq
from service.store.rejected_messages import HowKept, State

Said = Annotated[str, Meta(max_length=100)]


class RejectedLine(msgspec.Struct, frozen=True, kw_only=True):
    """A message that was not accepted, as far as it could be understood."""

    rejected: UUID
    state: State
    received_at: Instant
    last_received_at: Instant
    count: Count
    kept: HowKept
    event: UUID | None
    kind: Said | None
    asset: Said | None
    site: Said | None
    adverse: bool
    waiting_for: Annotated[tuple[Said, ...], Meta(max_length=1000)]
    problem: Problem
    settled_at: Instant | None
    reason: Annotated[str, Meta(max_length=500)] | None
    accepted_seq: Seq | None


class RejectedMessage(RejectedLine, frozen=True, kw_only=True):
    """A message that was not accepted, with what is kept of it."""

    example: ClassVar[dict[str, Any]] = {
        "rejected": "0198c1f2-9000-7000-8000-0000000000e1",
        "state": "open",
        "received_at": "2026-03-02T05:51:42Z",
        "last_received_at": "2026-03-02T06:02:00Z",
        "count": 2,
        "kept": "whole",
        "event": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c02",
        "kind": "issued",
        "asset": "FX-0142",
        "site": None,
        "adverse": False,
        "waiting_for": [],
        "problem": {
            "type": "/problems/malformed",
            "title": "The message is not a well-formed event",
            "status": 422,
            "detail": "no such field here",
            "errors": [{"detail": "no such field here", "pointer": "#/colour"}],
        },
        "settled_at": None,
        "reason": None,
        "accepted_seq": None,
        "body": '{"id":"0198c1f2-7a10-7c3e-9b55-3f1d2ab40c02","kind":"issued","asset":"FX-0142","colour":"red"}',
        "fields": None,
    }

    body: Annotated[str, Meta(max_length=MAX_BYTES)] | None
    fields: Annotated[tuple[Annotated[str, Meta(max_length=10_000)], ...], Meta(max_length=10_000)] | None


class RejectedList(Paged, frozen=True, kw_only=True):
    """Messages that were not accepted, newest first."""

    rejected: Annotated[tuple[RejectedLine, ...], Page]


class Dismissed(msgspec.Struct, frozen=True, kw_only=True):
    """A message that was settled without being recorded."""

    example: ClassVar[dict[str, Any]] = {
        "rejected": "0198c1f2-9000-7000-8000-0000000000e1",
        "state": "dismissed",
        "reason": "sent twice by a kiosk under test",
    }

    rejected: UUID
    state: Literal["dismissed"]
    reason: Annotated[str, Meta(max_length=500)]
