"""What an answer says of itself: when it is true, and what it rests on."""

import msgspec

from service.domain.words import Instant
from service.http.shapes.words import Next, Seq0


class AtMoments(msgspec.Struct, frozen=True, kw_only=True):
    """An answer about a moment, by what was known at another."""

    as_at: Instant
    known_at: Instant
    judged_to: Seq0
    rules_to: Seq0
    projection: bool


class Paged(msgspec.Struct, frozen=True, kw_only=True):
    """One page of a list."""

    next: Next | None


class PagedAtMoments(AtMoments, frozen=True, kw_only=True):
    """One page of a list that tells of a moment."""

    next: Next | None
