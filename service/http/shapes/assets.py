"""Units, as answers tell them."""

from datetime import date
from typing import Annotated, Any, ClassVar

import msgspec
from msgspec import UNSET, Meta, UnsetType

from service.domain.holder import Holder
from service.domain.standing import Standing
from service.domain.unit import Phase
from service.domain.words import Instant, Label, Ref, Tag, Use
from service.http.shapes.moment import AtMoments, PagedAtMoments
from service.http.shapes.words import HYPHENATED, Many, Page, Reasons, RuleName, Sentence, Seq

MOMENTS = {
    "as_at": "2026-03-02T12:00:00Z",
    "known_at": "2026-03-02T12:00:00Z",
    "judged_to": 48211,
    "rules_to": 47002,
    "projection": False,
}


class AssetLine(msgspec.Struct, frozen=True, kw_only=True):
    """A unit as a list shows it."""

    tag: Tag
    model: Ref
    serial: Label
    site: Ref
    phase: Phase
    in_scope: bool
    standing: Standing
    do_not_use: bool
    reasons: Reasons
    since: Instant
    rules: dict[RuleName, Standing]


class AssetList(PagedAtMoments, frozen=True, kw_only=True):
    """Units, by their tags."""

    example: ClassVar[dict[str, Any]] = {
        **MOMENTS,
        "assets": [
            {
                "tag": "FX-0142",
                "model": "northwind-2",
                "serial": "NW-7719",
                "site": "harrow-dock",
                "phase": "issued",
                "in_scope": True,
                "standing": "overdue",
                "do_not_use": True,
                "reasons": ["thorough-examination"],
                "since": "2026-03-01T00:00:00Z",
                "rules": {"thorough-examination": "overdue", "pre-use-check": "in-date"},
            }
        ],
        "next": None,
    }

    assets: Annotated[tuple[AssetLine, ...], Page]


class AssetLineNow(AssetLine, frozen=True, kw_only=True):
    """A unit as the list of all as they are now shows it."""

    use: Use
    holder: Holder | None
    due: Instant | None


class AssetListNow(PagedAtMoments, frozen=True, kw_only=True):
    """Units as they are now, by their tags."""

    example: ClassVar[dict[str, Any]] = {
        **AssetList.example,
        "assets": [
            {
                **AssetList.example["assets"][0],
                "use": "routine",
                "holder": {"person": "p-3071"},
                "due": "2026-03-01T00:00:00Z",
            }
        ],
    }

    assets: Annotated[tuple[AssetLineNow, ...], Page]


class LastWearer(msgspec.Struct, frozen=True, kw_only=True):
    """Who breathed through it last."""

    person: Ref
    at: Instant


class Readiness(msgspec.Struct, frozen=True, kw_only=True):
    """Whether it may be issued, and why not."""

    ready: bool
    reasons: Reasons


class Clause(msgspec.Struct, frozen=True, kw_only=True):
    """The clause of law that a rule rests on."""

    clause: Sentence
    edition: Annotated[str, Meta(max_length=200)]
    status: Annotated[str, Meta(max_length=20, pattern=HYPHENATED)]


class RuleVerdict(msgspec.Struct, frozen=True, kw_only=True):
    """What one rule says of the unit now."""

    standing: Standing
    reasons: Reasons
    due: date | UnsetType | None = UNSET
    cover_until: Instant | UnsetType | None = UNSET
    covered_wearer: Ref | UnsetType | None = UNSET
    check_needed: bool | UnsetType = UNSET
    source: Clause | UnsetType | None = UNSET


class FittedPart(msgspec.Struct, frozen=True, kw_only=True):
    """A part that sits in the unit."""

    position: Ref
    item: Ref
    lot: Label | None
    serial: Label | None
    fitted_at: Instant
    expected_change: date | None


class AssetView(AtMoments, frozen=True, kw_only=True):
    """A unit: where it is, whether it may be used, and why."""

    example: ClassVar[dict[str, Any]] = {
        "tag": "FX-0142",
        "model": "northwind-2",
        "serial": "NW-7719",
        "site": "harrow-dock",
        "use": "routine",
        "phase": "issued",
        "place": None,
        "holder": {"person": "p-3071"},
        "last_wearer": {"person": "p-3071", "at": "2026-03-02T05:51:40Z"},
        "put_away": None,
        "in_scope": True,
        "standing": "in-date",
        "do_not_use": False,
        "reasons": [],
        "ready_to_issue": {"ready": True, "reasons": []},
        "rules": {
            "thorough-examination": {
                "standing": "in-date",
                "reasons": [],
                "due": "2026-03-28",
                "source": {"clause": "COSHH 2002 reg 9(3)", "edition": "2002", "status": "second-hand"},
            },
            "pre-use-check": {
                "standing": "in-date",
                "reasons": [],
                "cover_until": "2026-03-02T17:51:40Z",
                "covered_wearer": "p-3071",
                "check_needed": False,
                "source": None,
            },
        },
        "parts": [
            {
                "position": "particle-filter",
                "item": "pf-170",
                "lot": "L-20417",
                "serial": None,
                "fitted_at": "2026-02-20T08:00:00Z",
                "expected_change": None,
            }
        ],
        **MOMENTS,
    }

    tag: Tag
    model: Ref
    serial: Label
    site: Ref
    use: Use
    phase: Phase
    place: Ref | None
    holder: Holder | None
    last_wearer: LastWearer | None
    put_away: Instant | None
    in_scope: bool
    standing: Standing
    do_not_use: bool
    reasons: Reasons
    ready_to_issue: Readiness
    rules: dict[RuleName, RuleVerdict]
    parts: Annotated[tuple[FittedPart, ...], Meta(max_length=100)]


class RuleInterval(msgspec.Struct, frozen=True, kw_only=True):
    """What one rule said for a while, the events it rested on and the clause."""

    rule: RuleName
    standing: Standing
    reasons: Reasons
    since: Instant
    until: Instant | None
    because: Annotated[tuple[Seq, ...], Many]
    source: Clause | None


class StandingInterval(msgspec.Struct, frozen=True, kw_only=True):
    """How the unit stood for a while."""

    standing: Standing
    phase: Phase
    site: Ref
    in_scope: bool
    do_not_use: bool
    reasons: Reasons
    since: Instant
    until: Instant | None
    rules: Annotated[tuple[RuleInterval, ...], Many]


class AssetStanding(AtMoments, frozen=True, kw_only=True):
    """The standing of a unit over time."""

    example: ClassVar[dict[str, Any]] = {
        "asset": "FX-0142",
        "intervals": [
            {
                "standing": "in-date",
                "phase": "issued",
                "site": "harrow-dock",
                "in_scope": True,
                "do_not_use": False,
                "reasons": [],
                "since": "2026-03-02T05:51:40Z",
                "until": None,
                "rules": [
                    {
                        "rule": "thorough-examination",
                        "standing": "in-date",
                        "reasons": [],
                        "since": "2026-02-28T16:00:00Z",
                        "until": None,
                        "because": [47990],
                        "source": {"clause": "COSHH 2002 reg 9(3)", "edition": "2002", "status": "second-hand"},
                    }
                ],
            }
        ],
        **MOMENTS,
    }

    asset: Tag
    intervals: Annotated[tuple[StandingInterval, ...], Many]
