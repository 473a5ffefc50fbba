"""Proposals, as answers tell them."""

from datetime import date
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

import msgspec
from msgspec import Meta

from service.assessing.reckoner import Held
from service.domain.demand.changes import Ground
from service.domain.demand.counts import Family
from service.domain.demand.pattern import Kind
from service.domain.demand.quantity import Limit
from service.domain.demand.rates import Method
from service.domain.ordering.order import State
from service.domain.ordering.reckoning import LeadFrom
from service.domain.words import Currency, Instant, Label, Ref, Tag
from service.http.shapes.receipts import Outcome
from service.http.shapes.words import Count, Many, Next, Page, Rate, Sentence, Seq, Seq0

Number = Annotated[float, Meta(ge=0)]
Money = Annotated[str, Meta(max_length=40, pattern=r"^[0-9]+(\.[0-9]+)?$")]
PROPOSAL = "pr-2f0c9d1be07a45c8a1d3"
MOMENTS = {"as_at": "2026-03-02T12:00:00Z", "judged_to": 48211, "rules_to": 47002}
FORECAST: dict[str, Any] = {
    "method": "sba",
    "because": "pattern",
    "pattern": "intermittent",
    "per_week": 1.0,
    "weeks": 104,
    "error": {
        "origins": 89,
        "periods": 3,
        "pinball": 0.62,
        "covered": 0.955,
        "bias": 0.04,
        "mase": 0.81,
    },
}
OPEN: dict[str, Any] = {
    "id": PROPOSAL,
    "site": "harrow-dock",
    "item": "pf-170",
    "name": "Particle filter 170",
    "unit": "C62",
    "state": "open",
    "quantity": 12.0,
    "transfers": [{"from_site": "east-yard", "quantity": 4.0, "lot": "L-2214", "expires": "2027-10-31"}],
    "because": "4 are there or on their way, less what will expire or is owed: that is not above the reorder point of "
    "11, so it is filled up to 19. 4 come from east-yard, which can spare them. 12 are to be bought (by pack).",
    "arithmetic": {
        "lead_days": 14.0,
        "lead_from": "observed",
        "lead_variance": 4.0,
        "look_days": 7.0,
        "protected_days": 21.0,
        "use_from": {"unforeseen": 3.0, "foretold": 3.0, "changes": 1, "recalled": 0},
        "use_mean": 6.0,
        "use_variance": 7.2,
        "family": "negative-binomial",
        "level": 0.95,
        "reorder_point": 11,
        "order_days": 28.0,
        "use_between": 8.0,
        "order_up_to": 19,
        "fill_rate": 0.9922,
        "in_stock": 3.0,
        "in_other_units": [],
        "recalled": 0.0,
        "expiring": 0.0,
        "on_order": 2.0,
        "late": None,
        "owed": 1.0,
        "position": 4.0,
        "wanted": 15.0,
        "transferred": 4.0,
        "pack_size": 4.0,
        "minimum_order": 8.0,
        "rounded": 12.0,
        "usable": {"days": 1840.0, "use_mean": 525.71, "expected": 521, "at_best": 563},
        "limits": ["pack"],
    },
    "forecast": {"unforeseen": FORECAST, "foretold": FORECAST},
    "condition": [
        {"asset": "FX-0142", "position": "particle-filter", "on": "2026-03-09", "because": "loading"},
    ],
    "cost": {"amount": "220.80", "currency": "GBP"},
    "approval": None,
    "order": None,
    "other_orders": [],
}
DEED: dict[str, Any] = {
    "by": "p-1001",
    "at": "2026-03-02T12:00:00Z",
    "event": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
    "seq": 48211,
}
PLACED: dict[str, Any] = {
    **OPEN,
    "state": "placed",
    "transfers": [],
    "because": "Approved by p-1001 on 2026-03-02. Ordered as PO/2026/0071 on 2026-03-02; placed.",
    "arithmetic": None,
    "forecast": None,
    "condition": [],
    "approval": {**DEED, "quantity": 12.0, "within_cap": False},
    "order": {
        "order": "PO/2026/0071",
        "state": "placed",
        "supplier": "sup-4",
        "expected_on": "2026-03-16",
        "overdue_since": None,
        "placed": DEED,
        "cancelled": None,
        "lines": [
            {
                "line": "1",
                "item": "pf-170",
                "unit": "C62",
                "ordered": 12.0,
                "received": 0.0,
                "outstanding": 12.0,
                "price": "18.40",
                "currency": "GBP",
            }
        ],
    },
}


class ReorderTransfer(msgspec.Struct, frozen=True, kw_only=True):
    """So much from another site."""

    from_site: Ref
    quantity: Number
    lot: Label | None
    expires: date | None


class ReorderUsable(msgspec.Struct, frozen=True, kw_only=True):
    """How much more can be used before it expires."""

    days: Number
    use_mean: Number
    expected: Count
    at_best: Count


class ReorderUseFrom(msgspec.Struct, frozen=True, kw_only=True):
    """What use is made of."""

    unforeseen: Number
    foretold: Number
    changes: Count
    recalled: Count


class InUnit(msgspec.Struct, frozen=True, kw_only=True):
    """So much in another unit."""

    unit: Ref
    quantity: Number


class ReorderLate(msgspec.Struct, frozen=True, kw_only=True):
    """What is late."""

    quantity: Number
    since: date


class ReorderArithmetic(msgspec.Struct, frozen=True, kw_only=True):
    """What a quantity follows from, in the item's unit."""

    lead_days: Number
    lead_from: LeadFrom
    lead_variance: Number
    look_days: Number
    protected_days: Number
    use_from: ReorderUseFrom
    use_mean: Number
    use_variance: Number
    family: Family
    level: Rate
    reorder_point: Count
    order_days: Number
    use_between: Number
    order_up_to: Count
    fill_rate: float
    in_stock: Number
    in_other_units: Annotated[tuple[InUnit, ...], Many]
    recalled: Number
    expiring: Number
    on_order: Number
    late: ReorderLate | None
    owed: Number
    position: float
    wanted: Number
    transferred: Number
    pack_size: Number | None
    minimum_order: Number | None
    rounded: Number
    usable: ReorderUsable | None
    limits: Annotated[tuple[Limit | Held, ...], Meta(max_length=3)]


class ReorderError(msgspec.Struct, frozen=True, kw_only=True):
    """How a method did, held against the past."""

    origins: Count
    periods: Count
    pinball: Number
    covered: Rate
    bias: float
    mase: Number | None


class ReorderForecast(msgspec.Struct, frozen=True, kw_only=True):
    """How a stream of use is forecast."""

    method: Method
    because: Literal["pattern", "back-test"]
    pattern: Kind
    per_week: Number
    weeks: Count
    error: ReorderError | None


class ReorderForecasts(msgspec.Struct, frozen=True, kw_only=True):
    """The forecast of each stream of use."""

    unforeseen: ReorderForecast
    foretold: ReorderForecast


class ReorderChange(msgspec.Struct, frozen=True, kw_only=True):
    """A change that is expected."""

    asset: Tag
    position: Ref
    on: date
    because: Ground


class ReorderCost(msgspec.Struct, frozen=True, kw_only=True):
    """An amount of money."""

    amount: Money
    currency: Currency


class ReorderDeed(msgspec.Struct, frozen=True, kw_only=True):
    """Who did something, and when."""

    by: Ref
    at: Instant
    event: UUID
    seq: Seq


class ReorderApproval(ReorderDeed, frozen=True, kw_only=True):
    """An approval."""

    quantity: Number | None
    within_cap: bool


class ReorderLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of an order."""

    line: Label | None
    item: Ref
    unit: Ref | None
    ordered: Number | None
    received: Number
    outstanding: Number
    price: Money | None
    currency: Currency | None


class ReorderOrder(msgspec.Struct, frozen=True, kw_only=True):
    """What a proposal became."""

    order: Label
    state: State
    supplier: Ref | None
    expected_on: date | None
    overdue_since: Instant | None
    placed: ReorderDeed
    cancelled: ReorderDeed | None
    lines: Annotated[tuple[ReorderLine, ...], Many]


class Reorder(msgspec.Struct, frozen=True, kw_only=True):
    """A proposal, and what became of it."""

    id: Ref
    site: Ref
    item: Ref
    name: Label | None
    unit: Ref | None
    state: State
    quantity: Number | None
    transfers: Annotated[tuple[ReorderTransfer, ...], Many]
    because: Sentence
    arithmetic: ReorderArithmetic | None
    forecast: ReorderForecasts | None
    condition: Annotated[tuple[ReorderChange, ...], Many]
    cost: ReorderCost | None
    approval: ReorderApproval | None
    order: ReorderOrder | None
    other_orders: Annotated[tuple[Label, ...], Many]


class ReorderList(msgspec.Struct, frozen=True, kw_only=True):
    """Proposals, by site and item."""

    example: ClassVar[dict[str, Any]] = {**MOMENTS, "reorders": [OPEN], "next": None}

    as_at: Instant
    judged_to: Seq0
    rules_to: Seq0
    reorders: Annotated[tuple[Reorder, ...], Page]
    next: Next | None


class ReorderRead(Reorder, frozen=True, kw_only=True):
    """One proposal, and what the answer rests on."""

    example: ClassVar[dict[str, Any]] = {**MOMENTS, "known_at": MOMENTS["as_at"], "projection": False, **OPEN}

    as_at: Instant
    known_at: Instant
    judged_to: Seq0
    rules_to: Seq0
    projection: bool


class ReorderReceipt(msgspec.Struct, frozen=True, kw_only=True):
    """What was recorded of a proposal, and the proposal now."""

    example: ClassVar[dict[str, Any]] = {
        "id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
        "seq": 48211,
        "recorded_at": "2026-03-02T12:00:00.000211Z",
        "outcome": "recorded",
        "proposal": PLACED,
    }

    id: UUID
    seq: Seq
    recorded_at: Instant
    outcome: Outcome
    proposal: Reorder
