"""Recalls, as answers tell them."""

from datetime import date
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

import msgspec
from msgspec import Meta

from service.domain.holder import Holder
from service.domain.kinds.recall_opened import Action, Criterion
from service.domain.recall.rehearsal import MOST
from service.domain.recall.unknown import SAYS
from service.domain.standing import Standing
from service.domain.unit import Phase
from service.domain.wearing import KnownBy
from service.domain.words import Expiry, Instant, Label, Ref, Tag
from service.http.shapes.assets import MOMENTS
from service.http.shapes.moment import PagedAtMoments
from service.http.shapes.words import HYPHENATED, Count, Many, Page, Sentence

UnknownCode = Annotated[str, Meta(max_length=40, pattern=HYPHENATED, examples=list(SAYS))]
SAID: dict[str, Any] = {
    "recall": "rc-2026-01",
    "action": "stop-use",
    "due_on": None,
    "rehearsal": False,
    "opened_at": "2026-03-02T08:00:00Z",
    "closed_at": None,
    "voided_at": None,
    "criteria": [{"item": "pf-170", "lot_from": "L2411", "lot_to": "L2415"}],
    "notice": "the maker's notice of 27 February 2026",
    "openings": [
        {
            "opened_at": "2026-03-02T08:00:00Z",
            "action": "stop-use",
            "due_on": None,
            "criteria": [{"item": "pf-170", "lot_from": "L2411", "lot_to": "L2415"}],
            "notice": "the maker's notice of 27 February 2026",
            "voided_at": None,
        }
    ],
}
COUNTED = {
    "units": 3,
    "affected": 1,
    "certain": 1,
    "once": 1,
    "located": 2,
    "stopped": 1,
    "put_away": 0,
    "remedied": 1,
    "outstanding": 1,
    "missing": 0,
    "retired": 0,
    "silent": 0,
    "people": 1,
}

STOCKED = {
    "site": "harrow-dock",
    "item": "pf-170",
    "lot": "L2411",
    "expires": "2029-05",
    "quantity": 12.0,
    "unit": "each",
    "certain": True,
}


class RecallOpening(msgspec.Struct, frozen=True, kw_only=True):
    """One opening of a recall."""

    opened_at: Instant
    action: Action
    due_on: date | None
    criteria: Annotated[tuple[Criterion, ...], Many]
    notice: Annotated[str, Meta(max_length=500)] | None
    voided_at: Instant | None


class RecallLine(msgspec.Struct, frozen=True, kw_only=True):
    """A recall as it was opened."""

    recall: Ref | None
    action: Action | None
    due_on: date | None
    rehearsal: bool
    opened_at: Instant | None
    closed_at: Instant | None
    voided_at: Instant | None
    criteria: Annotated[tuple[Criterion, ...], Many]
    notice: Annotated[str, Meta(max_length=500)] | None
    openings: Annotated[tuple[RecallOpening, ...], Many]


class RecallList(PagedAtMoments, frozen=True, kw_only=True):
    """Recalls, by their names."""

    example: ClassVar[dict[str, Any]] = {**MOMENTS, "recalls": [SAID], "next": None}

    recalls: Annotated[tuple[RecallLine, ...], Page]


class RecallTotal(msgspec.Struct, frozen=True, kw_only=True):
    """How many units a recall speaks of, and how far they have been dealt with."""

    units: Count
    affected: Count
    certain: Count
    once: Count
    located: Count
    stopped: Count
    put_away: Count
    remedied: Count
    outstanding: Count
    missing: Count
    retired: Count
    silent: Count
    people: Count


class RecallSite(RecallTotal, frozen=True, kw_only=True):
    """The same of one site."""

    site: Ref


class RecallDay(msgspec.Struct, frozen=True, kw_only=True):
    """How far a site had come by the end of a day."""

    site: Ref
    day: date
    located: Count
    stopped: Count
    put_away: Count
    remedied: Count
    outstanding: Count


class RecallStock(msgspec.Struct, frozen=True, kw_only=True):
    """Spare stock of one lot at one site."""

    site: Ref
    item: Ref
    lot: Label | None
    expires: Expiry | None
    quantity: Annotated[float, Meta(ge=0)]
    unit: Ref | None
    certain: bool


class RecallUnknown(msgspec.Struct, frozen=True, kw_only=True):
    """A sort of what the records cannot tell."""

    code: UnknownCode
    count: Count
    says: Sentence


class SlowUnit(msgspec.Struct, frozen=True, kw_only=True):
    """One of the units that took longest."""

    asset: Tag
    site: Ref
    seconds: Count


class RecallPace(msgspec.Struct, frozen=True, kw_only=True):
    """How long it took."""

    done: Count
    of: Count
    median_seconds: Count | None
    p90_seconds: Count | None
    max_seconds: Count | None
    slowest: Annotated[tuple[SlowUnit, ...], Meta(max_length=MOST)]


class RecallRehearsal(msgspec.Struct, frozen=True, kw_only=True):
    """What a rehearsal measured."""

    located: RecallPace
    put_away: RecallPace
    not_located: Count
    parts_unknown: Count
    stock_unknown: Count


class RecallSitting(msgspec.Struct, frozen=True, kw_only=True):
    """What the recall speaks of in a unit, and from when to when."""

    position: Ref | None
    since: Instant
    until: Instant | None
    certain: bool
    state: Literal["affected", "cleared", "removed", "identified"]
    item: Ref | None
    lot: Label | None
    serial: Label | None
    expires: Expiry | None


class RecallHand(msgspec.Struct, frozen=True, kw_only=True):
    """Who had a unit meanwhile."""

    holder: Holder
    site: Ref
    since: Instant
    until: Instant | None
    seconds: Count
    certain: bool


class RecallWearer(msgspec.Struct, frozen=True, kw_only=True):
    """Who wore a unit meanwhile."""

    person: Ref
    site: Ref
    times: Count
    first: Instant
    last: Instant
    seconds: Count
    known_by: Annotated[tuple[KnownBy, ...], Many]
    certain: bool


class RecallAsk(msgspec.Struct, frozen=True, kw_only=True):
    """What is asked of a unit, and by which day."""

    action: Action
    due_on: date | None


class RecallUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit that a recall speaks of, or once spoke of."""

    asset: Tag
    unit: UUID
    serial: Label
    host: Tag | None
    site: Ref
    model: Ref
    phase: Phase
    standing: Standing
    do_not_use: bool
    affected: bool
    certain: bool
    outstanding: bool
    action: Action | None
    due_on: date | None
    asks: Annotated[tuple[RecallAsk, ...], Many]
    last_spoken_at: Instant | None
    located_at: Instant | None
    stopped_at: Instant | None
    put_away_at: Instant | None
    remedied_at: Instant | None
    reason: Annotated[str, Meta(max_length=500)] | None
    sittings: Annotated[tuple[RecallSitting, ...], Many]
    hands: Annotated[tuple[RecallHand, ...], Many]
    wearers: Annotated[tuple[RecallWearer, ...], Many]


class RecallImpact(PagedAtMoments, frozen=True, kw_only=True):
    """What a recall has done."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "recall": SAID,
        "total": COUNTED,
        "sites": [{"site": "harrow-dock", **COUNTED}],
        "progress": [
            {
                "site": "harrow-dock",
                "day": "2026-03-02",
                "located": 2,
                "stopped": 1,
                "put_away": 0,
                "remedied": 1,
                "outstanding": 1,
            }
        ],
        "stock": [STOCKED],
        "unknown": [{"code": "wearing-without-end", "count": 1, "says": SAYS["wearing-without-end"]}],
        "rehearsal": None,
        "units": [
            {
                "asset": "FX-0142",
                "unit": "0198c1f2-4a55-7c31-9c1e-2f0a6b7d8e90",
                "serial": "NW2-004417",
                "host": None,
                "site": "harrow-dock",
                "model": "northwind-2",
                "phase": "quarantined",
                "standing": "do-not-use",
                "do_not_use": True,
                "affected": True,
                "certain": True,
                "outstanding": True,
                "action": "stop-use",
                "due_on": None,
                "asks": [{"action": "stop-use", "due_on": None}],
                "last_spoken_at": "2026-03-02T09:10:00Z",
                "located_at": "2026-03-02T09:02:00Z",
                "stopped_at": "2026-03-02T08:05:00Z",
                "put_away_at": None,
                "remedied_at": None,
                "reason": None,
                "sittings": [
                    {
                        "position": "particle-filter",
                        "since": "2026-02-20T05:40:00Z",
                        "until": None,
                        "certain": True,
                        "state": "affected",
                        "item": "pf-170",
                        "lot": "L2411",
                        "serial": None,
                        "expires": "2029-05",
                    }
                ],
                "hands": [
                    {
                        "holder": {"person": "p-3071"},
                        "site": "harrow-dock",
                        "since": "2026-02-20T05:50:00Z",
                        "until": None,
                        "seconds": 886200,
                        "certain": True,
                    }
                ],
                "wearers": [
                    {
                        "person": "p-3071",
                        "site": "harrow-dock",
                        "times": 7,
                        "first": "2026-02-20T06:00:00Z",
                        "last": "2026-03-02T06:00:00Z",
                        "seconds": 86400,
                        "known_by": ["checked", "worn"],
                        "certain": True,
                    }
                ],
            }
        ],
        "next": None,
    }

    recall: RecallLine
    total: RecallTotal
    sites: Annotated[tuple[RecallSite, ...], Many]
    progress: Annotated[tuple[RecallDay, ...], Many]
    stock: Annotated[tuple[RecallStock, ...], Many]
    unknown: Annotated[tuple[RecallUnknown, ...], Meta(max_length=len(SAYS))]
    rehearsal: RecallRehearsal | None
    units: Annotated[tuple[RecallUnit, ...], Page]


class RecallSites(PagedAtMoments, frozen=True, kw_only=True):
    """What a recall has done, by site."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "recall": "rc-2026-01",
        "sites": [{"site": "harrow-dock", **COUNTED}],
        "next": None,
    }

    recall: Ref
    sites: Annotated[tuple[RecallSite, ...], Page]


class RecallPerson(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody who had or wore units while they held what a recall speaks of."""

    holder: Holder
    certain: bool
    units: Count
    held_seconds: Count
    times_worn: Count
    worn_seconds: Count
    first: Instant
    last: Instant


class RecallPeople(PagedAtMoments, frozen=True, kw_only=True):
    """Who had or wore units that a recall speaks of."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "recall": "rc-2026-01",
        "people": [
            {
                "holder": {"person": "p-3071"},
                "certain": True,
                "units": 2,
                "held_seconds": 886200,
                "times_worn": 7,
                "worn_seconds": 86400,
                "first": "2026-02-20T05:50:00Z",
                "last": "2026-03-02T12:00:00Z",
            }
        ],
        "next": None,
    }

    recall: Ref
    people: Annotated[tuple[RecallPerson, ...], Page]


class RecallStockList(PagedAtMoments, frozen=True, kw_only=True):
    """Spare stock that a recall speaks of."""

    example: ClassVar[dict[str, Any]] = {**MOMENTS, "recall": "rc-2026-01", "stock": [STOCKED], "next": None}

    recall: Ref
    stock: Annotated[tuple[RecallStock, ...], Page]
