"""Stock: how much there is, what changed it, and what was used."""

from datetime import date
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

import msgspec
from msgspec import Meta

from service.domain.words import Expiry, Instant, Label, Ref
from service.http.shapes.assets import MOMENTS
from service.http.shapes.moment import PagedAtMoments
from service.http.shapes.words import Many, Page, Seq

Quantity = Annotated[float, Meta(ge=0)]


class StockLot(msgspec.Struct, frozen=True, kw_only=True):
    """What there is of one lot and expiry."""

    lot: Label | None
    expires: Expiry | None
    expired: bool
    quantity: Quantity


class StockLevel(msgspec.Struct, frozen=True, kw_only=True):
    """How much there is of an item at a site."""

    site: Ref
    item: Ref
    name: Label | None
    unit: Ref
    quantity: Quantity
    lots: Annotated[tuple[StockLot, ...], Many]
    short: Quantity | None
    oldest_expiry: Expiry | None
    last_counted_at: Instant | None


class StockList(PagedAtMoments, frozen=True, kw_only=True):
    """How much there is, site by site and item by item."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "stock": [
            {
                "site": "harrow-dock",
                "item": "pf-170",
                "name": "Particle filter 170",
                "unit": "C62",
                "quantity": 38.0,
                "lots": [
                    {"lot": "L2409", "expires": "2026-02", "expired": True, "quantity": 2.0},
                    {"lot": "L2411", "expires": "2029-05", "expired": False, "quantity": 36.0},
                ],
                "short": None,
                "oldest_expiry": "2026-02",
                "last_counted_at": "2026-02-27T15:00:00Z",
            }
        ],
        "next": None,
    }

    stock: Annotated[tuple[StockLevel, ...], Page]


class CountExplained(msgspec.Struct, frozen=True, kw_only=True):
    """What a count explains."""

    expected: float
    found: Quantity
    difference: float


class EntryLot(msgspec.Struct, frozen=True, kw_only=True):
    """What an entry did to one lot and expiry."""

    lot: Label | None
    expires: Expiry | None
    change: float
    balance: float
    assumed: bool


class StockEntry(msgspec.Struct, frozen=True, kw_only=True):
    """One change of the stock of an item at a site."""

    seq: Seq
    event: UUID | None
    at: Instant
    what: Literal["received", "counted", "moved-in", "moved-out", "discarded", "fitted"]
    lot: Label | None
    expires: Expiry | None
    place: Ref | None
    from_site: Ref | None
    to_site: Ref | None
    unit: Ref
    quantity: Quantity
    change: float
    balance: float
    short: Quantity | None
    explains: CountExplained | None
    lots: Annotated[tuple[EntryLot, ...], Many]


class StockLedger(PagedAtMoments, frozen=True, kw_only=True):
    """The ledger of an item at a site."""

    example: ClassVar[dict[str, Any]] = {
        "site": "harrow-dock",
        "item": "pf-170",
        "name": "Particle filter 170",
        **MOMENTS,
        "entries": [
            {
                "seq": 48102,
                "event": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
                "at": "2026-03-02T05:51:40Z",
                "what": "counted",
                "lot": "L2411",
                "expires": "2029-05",
                "place": "store-a",
                "from_site": None,
                "to_site": None,
                "unit": "C62",
                "quantity": 38.0,
                "change": -1.0,
                "balance": 38.0,
                "short": None,
                "explains": {"expected": 39.0, "found": 38.0, "difference": -1.0},
                "lots": [{"lot": "L2411", "expires": "2029-05", "change": -1.0, "balance": 38.0, "assumed": False}],
            }
        ],
        "next": None,
    }

    site: Ref
    item: Ref
    name: Label | None
    entries: Annotated[tuple[StockEntry, ...], Page]


class PeriodUsed(msgspec.Struct, frozen=True, kw_only=True):
    """What was used of an item at a site in a period."""

    site: Ref
    item: Ref
    name: Label | None
    unit: Ref
    since: date = msgspec.field(name="from")
    until: date = msgspec.field(name="to")
    used: Quantity
    discarded: Quantity


class Consumption(PagedAtMoments, frozen=True, kw_only=True):
    """What was used, site by site, item by item, period by period."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "periods": [
            {
                "site": "harrow-dock",
                "item": "pf-170",
                "name": "Particle filter 170",
                "unit": "C62",
                "from": "2026-02-23",
                "to": "2026-03-01",
                "used": 14.0,
                "discarded": 2.0,
            }
        ],
        "next": None,
    }

    periods: Annotated[tuple[PeriodUsed, ...], Page]
