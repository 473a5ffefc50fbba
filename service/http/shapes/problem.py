"""A problem, as RFC 9457 tells it."""

from typing import Annotated
from uuid import UUID

import msgspec
from msgspec import UNSET, Meta, UnsetType

from service.domain.words import MANY, Label, Tag
from service.http.shapes.words import Sentence, Seq

Media = Annotated[str, Meta(max_length=100, pattern="^[a-z]+/[a-z.+-]+$", examples=["application/json"])]
Code = Annotated[str, Meta(pattern="^[a-z-]+$", max_length=60)]
ProblemType = Annotated[str, Meta(pattern="^/problems/[a-z-]+$", max_length=60)]


class ProblemFault(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that is wrong, and where."""

    detail: Sentence
    pointer: Annotated[str, Meta(max_length=10_000)] | UnsetType = UNSET
    parameter: Annotated[str, Meta(max_length=10_000)] | UnsetType = UNSET
    at: Annotated[str, Meta(max_length=10_000)] | UnsetType = UNSET


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """A problem (RFC 9457). Members beyond the first five belong to some types alone."""

    type: ProblemType
    title: Annotated[str, Meta(max_length=200)]
    status: Annotated[int, Meta(ge=400, le=599)]
    detail: Sentence
    errors: Annotated[tuple[ProblemFault, ...], Meta(max_length=1000)] | UnsetType = UNSET
    rejected: UUID | UnsetType = UNSET
    reference: Annotated[str, Meta(max_length=100)] | UnsetType = UNSET
    waits: bool | UnsetType = UNSET
    clause: Sentence | UnsetType = UNSET
    limit: Annotated[int, Meta(ge=1, le=2**31 - 1)] | UnsetType = UNSET
    current: Seq | UnsetType | None = UNSET
    conflicts: Annotated[tuple[Code, ...], Meta(max_length=100)] | UnsetType = UNSET
    reasons: Annotated[tuple[Code, ...], Meta(max_length=100)] | UnsetType = UNSET
    assets: Annotated[tuple[Tag, ...], Meta(max_length=MANY)] | UnsetType = UNSET
    state: Code | UnsetType = UNSET
    order: Label | UnsetType | None = UNSET
    kept: Annotated[str, Meta(max_length=20)] | UnsetType = UNSET
    offered: Annotated[tuple[Media, ...], Meta(min_length=1, max_length=10)] | UnsetType = UNSET
    retry_after: Annotated[int, Meta(ge=1, le=86_400)] | UnsetType = UNSET


class ProblemPage(msgspec.Struct, frozen=True, kw_only=True):
    """A type of problem, explained."""

    type: ProblemType
    title: Annotated[str, Meta(max_length=200)]
    status: Annotated[int, Meta(ge=400, le=599)]
    what_to_do: Sentence


class ProblemPages(msgspec.Struct, frozen=True, kw_only=True):
    """Every type of problem, by its name."""

    problems: Annotated[tuple[ProblemPage, ...], Meta(max_length=100)]
