"""Webhooks, and what became of what they sent."""

from typing import Annotated, Any, ClassVar
from uuid import UUID

import msgspec
from msgspec import Meta

from service.domain.webhook import LONGEST_URL
from service.domain.words import MANY, Instant, Ref, Subject
from service.http.shapes.moment import Paged
from service.http.shapes.words import HYPHENATED, Count, KindName, Many, Page, Seq, Seq0
from service.store.deliveries import DeliveryState
from service.store.webhooks import WebhookState

Word = Annotated[str, Meta(max_length=40, pattern=HYPHENATED)]
Secret = Annotated[str, Meta(max_length=100, pattern="^whsec_[A-Za-z0-9+/=]+$")]
HttpStatus = Annotated[int, Meta(ge=100, le=999)]

EXAMPLE: dict[str, Any] = {
    "webhook": "0198c1f2-b000-7000-8000-0000000000d1",
    "url": "https://erp.example.com/hooks/respirators",
    "purpose": "Orders, for the ERP",
    "kinds": ["reorder-approved", "order-placed", "order-cancelled"],
    "site": None,
    "subject": None,
    "state": "active",
    "reason": None,
    "sites": None,
    "key": "0198c1f2-b000-7000-8000-0000000000a1",
    "created_at": "2026-03-02T05:51:42Z",
    "old_secret_until": None,
}
PROGRESS: dict[str, Any] = {
    "passed": 48211,
    "waiting": 1,
    "dead": 0,
    "delivered_at": "2026-03-02T11:59:02Z",
    "failing_since": None,
    "rests_until": None,
}
DELIVERY: dict[str, Any] = {
    "seq": 48199,
    "event": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c02",
    "state": "waiting",
    "attempts": 2,
    "first_at": "2026-03-02T11:58:51Z",
    "last_at": "2026-03-02T11:58:55Z",
    "next_at": "2026-03-02T12:01:20Z",
    "status": 422,
    "error": "refused",
    "milliseconds": 38,
}


class Webhook(msgspec.Struct, frozen=True, kw_only=True):
    """Where events are sent, and which."""

    example: ClassVar[dict[str, Any]] = EXAMPLE

    webhook: UUID
    url: Annotated[str, Meta(max_length=LONGEST_URL)]
    purpose: Annotated[str, Meta(max_length=100)] | None
    kinds: Annotated[tuple[KindName, ...], Meta(max_length=MANY)] | None
    site: Ref | None
    subject: Subject | None
    state: WebhookState
    reason: Word | None
    sites: Annotated[tuple[Ref, ...], Many] | None
    key: UUID
    created_at: Instant
    old_secret_until: Instant | None


class Progress(msgspec.Struct, frozen=True, kw_only=True):
    """How far a webhook is."""

    passed: Seq0
    waiting: Count
    dead: Count
    delivered_at: Instant | None
    failing_since: Instant | None
    rests_until: Instant | None


class WebhookLine(Webhook, frozen=True, kw_only=True):
    """A webhook, and how it goes."""

    example: ClassVar[dict[str, Any]] = EXAMPLE | {"progress": PROGRESS}

    progress: Progress


class WebhookList(Paged, frozen=True, kw_only=True):
    """Webhooks, in the order they were made."""

    example: ClassVar[dict[str, Any]] = {"webhooks": [WebhookLine.example], "next": None}

    webhooks: Annotated[tuple[WebhookLine, ...], Page]


class WebhookMade(Webhook, frozen=True, kw_only=True):
    """A webhook that was made, and its secret."""

    example: ClassVar[dict[str, Any]] = EXAMPLE | {"secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"}

    secret: Secret | None


class WebhookSecret(msgspec.Struct, frozen=True, kw_only=True):
    """A new secret."""

    example: ClassVar[dict[str, Any]] = {
        "webhook": EXAMPLE["webhook"],
        "secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        "old_secret_until": "2026-03-03T12:00:00Z",
    }

    webhook: UUID
    secret: Secret
    old_secret_until: Instant | None


class WebhookTested(msgspec.Struct, frozen=True, kw_only=True):
    """What came of an event that was made up to try a receiver."""

    example: ClassVar[dict[str, Any]] = {
        "event": "0198c1f2-b000-7000-8000-0000000000e1",
        "delivered": False,
        "status": None,
        "error": "not-connected",
        "milliseconds": 12,
    }

    event: UUID
    delivered: bool
    status: HttpStatus | None
    error: Word | None
    milliseconds: Count


class Delivery(msgspec.Struct, frozen=True, kw_only=True):
    """What became of one event."""

    example: ClassVar[dict[str, Any]] = DELIVERY

    seq: Seq
    event: UUID
    state: DeliveryState
    attempts: Count
    first_at: Instant
    last_at: Instant
    next_at: Instant | None
    status: HttpStatus | None
    error: Word | None
    milliseconds: Count


class DeliveryList(Paged, frozen=True, kw_only=True):
    """What became of the events that a webhook was to send, newest first."""

    example: ClassVar[dict[str, Any]] = {
        "webhook": EXAMPLE["webhook"],
        "progress": PROGRESS,
        "deliveries": [DELIVERY],
        "next": None,
    }

    webhook: UUID
    progress: Progress
    deliveries: Annotated[tuple[Delivery, ...], Page]
