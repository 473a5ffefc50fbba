"""The summary."""

from typing import Annotated, Any, ClassVar
from uuid import UUID

import msgspec
from msgspec import UNSET, Meta, UnsetType

from service.domain.words import Instant, Label, Ref, Tag
from service.http.shapes.assets import MOMENTS
from service.http.shapes.moment import PagedAtMoments
from service.http.shapes.words import Count, Many, Profile, Rate, RuleName, Seq


class ByStanding(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    """Units by their standing."""

    in_date: Count
    due_soon: Count
    overdue: Count
    do_not_use: Count
    out_of_scope: Count


class ByPhase(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    """Units by where they are."""

    in_store: Count
    issued: Count
    stationed: Count
    quarantined: Count
    in_transit: Count
    at_service: Count
    missing: Count


class Breaches(msgspec.Struct, frozen=True, kw_only=True, rename="kebab"):
    """Units in scope that a rule says this of."""

    due_soon: Count
    overdue: Count
    do_not_use: Count


class UsesCovered(msgspec.Struct, frozen=True, kw_only=True):
    """Uses of the local month up to the moment, and how many of them a check covered."""

    covered: Count
    of: Count


class UnitDays(msgspec.Struct, frozen=True, kw_only=True):
    """Days of units in scope, of the local month up to the moment, and how many were compliant throughout."""

    compliant: Count
    of: Count


class SummaryTotal(msgspec.Struct, frozen=True, kw_only=True):
    """The numbers over all sites asked for. Retired units, and components of others, are not counted."""

    units: Count
    in_scope: Count
    compliant: Count
    rate: Rate | None
    by_standing: ByStanding
    by_phase: ByPhase
    uses: UsesCovered
    unit_days: UnitDays
    by_rule: dict[RuleName, Breaches]


class SummarySite(SummaryTotal, frozen=True, kw_only=True):
    """The numbers of one site, and whose rules hold there."""

    site: Ref
    name: Label | None
    region: Label | UnsetType | None = UNSET
    profile: Profile | None
    profile_complete: bool
    time_zone: Annotated[str, Meta(max_length=64)]
    closed: bool | UnsetType = UNSET


class SummaryGroup(SummaryTotal, frozen=True, kw_only=True):
    """The numbers of a region, jurisdiction or model; null for the sites that name no region."""

    group: Label | None


class LoosenedRule(msgspec.Struct, frozen=True, kw_only=True):
    """Something in force that asks for less than law, default or a wider policy would, and who answers for it."""

    subject: Annotated[str, Meta(max_length=60)]
    rule: RuleName | None
    asset: Tag | None
    policy: Annotated[str, Meta(max_length=40)] | None
    site: Ref | None
    model: Ref | None
    values: Annotated[tuple[Annotated[str, Meta(max_length=60)], ...], Meta(max_length=100)]
    by: Ref
    reason: Annotated[str, Meta(max_length=500)] | None
    since: Instant
    event: UUID
    because: Annotated[tuple[Seq, ...], Many]


NUMBERS: dict[str, Any] = {
    "units": 96,
    "in_scope": 88,
    "compliant": 84,
    "rate": 0.9545,
    "by_standing": {"in-date": 80, "due-soon": 4, "overdue": 3, "do-not-use": 1, "out-of-scope": 8},
    "by_phase": {
        "in-store": 6,
        "issued": 87,
        "stationed": 1,
        "quarantined": 1,
        "in-transit": 0,
        "at-service": 1,
        "missing": 0,
    },
    "uses": {"covered": 160, "of": 164},
    "unit_days": {"compliant": 171, "of": 176},
    "by_rule": {"thorough-examination": {"due-soon": 4, "overdue": 3, "do-not-use": 0}},
}


class Summary(PagedAtMoments, frozen=True, kw_only=True):
    """All sites at one moment, as known at another."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "total": NUMBERS,
        "sites": [
            {
                "site": "harrow-dock",
                "name": "Harrow Dock",
                "region": None,
                "profile": "uk",
                "profile_complete": False,
                "time_zone": "Europe/London",
                "closed": False,
                **NUMBERS,
            }
        ],
        "loosened_rules": [],
        "next": None,
    }

    total: SummaryTotal
    sites: Annotated[tuple[SummarySite, ...], Many]
    groups: Annotated[tuple[SummaryGroup, ...], Many] | UnsetType = UNSET
    loosened_rules: Annotated[tuple[LoosenedRule, ...], Many]
