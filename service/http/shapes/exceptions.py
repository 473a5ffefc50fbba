"""Exception reports: what somebody must look at."""

from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

import msgspec
from msgspec import Meta

from service.domain.words import Instant, Ref, Tag
from service.http.shapes.assets import MOMENTS
from service.http.shapes.moment import AtMoments, PagedAtMoments
from service.http.shapes.words import HYPHENATED, Count, Many, Page, Reasons, Sentence, Seq

ReportName = Annotated[str, Meta(max_length=60, pattern=HYPHENATED)]


class SiteExceptions(msgspec.Struct, frozen=True, kw_only=True):
    """How many rows a report has of one site."""

    site: Ref | None
    rows: Count
    open: Count


class ReportCount(msgspec.Struct, frozen=True, kw_only=True):
    """How many rows a report has."""

    report: ReportName
    about: Sentence
    rows: Count
    open: Count
    sites: Annotated[tuple[SiteExceptions, ...], Many]


class ExceptionCounts(AtMoments, frozen=True, kw_only=True):
    """Every report and how many rows it has."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "reports": [
            {
                "report": "used-without-check",
                "about": "used outside the cover of a complete passing check",
                "rows": 8,
                "open": 6,
                "sites": [{"site": "harrow-dock", "rows": 8, "open": 6}],
            }
        ],
    }

    reports: Annotated[tuple[ReportCount, ...], Meta(max_length=100)]


class RowAcknowledged(msgspec.Struct, frozen=True, kw_only=True):
    """Who has looked at a row."""

    by: Ref
    at: Instant
    reason: Annotated[str, Meta(max_length=500)] | None
    seq: Seq


class ExceptionRow(msgspec.Struct, frozen=True, kw_only=True):
    """One finding."""

    row: UUID
    site: Ref | None
    asset: Tag | None
    person: Ref | None
    item: Ref | None
    at: Instant
    severity: Literal["high", "medium", "low"]
    reason: Sentence
    reasons: Reasons
    next: Sentence
    because: Annotated[tuple[Seq, ...], Many]
    acknowledged: RowAcknowledged | None


class ExceptionReport(PagedAtMoments, frozen=True, kw_only=True):
    """The rows of a report, newest first."""

    example: ClassVar[dict[str, Any]] = {
        "report": "used-without-check",
        **MOMENTS,
        "rows": [
            {
                "row": "0198c1f2-b000-7000-8000-0000000000f1",
                "site": "harrow-dock",
                "asset": "FX-0142",
                "person": "p-3071",
                "item": None,
                "at": "2026-03-02T05:00:00Z",
                "severity": "high",
                "reason": "Used outside the cover of a complete passing check.",
                "reasons": ["used-without-check"],
                "next": "Ask who wore it and have it checked before it is used again.",
                "because": [48190, 48211],
                "acknowledged": None,
            }
        ],
        "next": None,
    }

    report: ReportName
    rows: Annotated[tuple[ExceptionRow, ...], Page]
