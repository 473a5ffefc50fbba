"""A unit: everything its events have said so far, as values.

Every change gives a new value. Evidence carries the event it rests on, so that each verdict can name its ground.
"""

from datetime import date, datetime
from typing import Literal
from uuid import UUID

import msgspec

from service.domain.holder import Holder
from service.domain.part import Part

Where = Literal["in-store", "issued", "stationed"]
Phase = Literal["in-store", "issued", "stationed", "quarantined", "in-transit", "at-service", "missing", "retired"]
PHASES: tuple[Phase, ...] = (
    "in-store",
    "issued",
    "stationed",
    "quarantined",
    "in-transit",
    "at-service",
    "missing",
    "retired",
)


class Evidence(msgspec.Struct, frozen=True):
    """A fact worth remembering: when it was and which event said it."""

    at: datetime
    event: UUID


class Wearing(msgspec.Struct, frozen=True):
    """Who breathed through the unit last, and from when; `until` where the end is known."""

    person: str
    at: datetime
    event: UUID
    until: datetime | None = None


class Cause(msgspec.Struct, frozen=True):
    """One ground for being withdrawn: the reason, the fact, and the recall it belongs to.

    `voided` says that the event was voided since; that ends nothing, it only opens one more way out.
    """

    reason: str
    at: datetime
    event: UUID
    recall: str | None = None
    voided: bool = False


class Passing(msgspec.Struct, frozen=True):
    """A complete passing check made while the unit was withdrawn: when and by whom."""

    at: datetime
    by: str


class Cover(msgspec.Struct, frozen=True):
    """What a complete passing check allows: use by `wearer` up to `until`.

    `paused` is true between a battery swap and the points that restore the rest.
    """

    event: UUID
    wearer: str
    since: datetime
    until: datetime
    paused: bool = False


class Breach(msgspec.Struct, frozen=True):
    """A use outside cover, open until a check for that wearer (any, if no person is known) or the return."""

    since: datetime
    person: str | None
    reason: str
    event: UUID | None


class Fitted(msgspec.Struct, frozen=True):
    """What sits in a position: the part, since when, how it was used since, and its last loading reading.

    `worn_seconds` and `uses` count from fitting; `opened_at` is when the seal of a gas filter was broken.
    """

    part: Part | None
    at: datetime
    event: UUID
    opened_at: datetime | None = None
    loading: int | None = None
    loaded: Evidence | None = None
    worn_seconds: int = 0
    uses: int = 0


class Charge(msgspec.Struct, frozen=True):
    """A battery reading in percent; `percent` is None after a swap until it is read."""

    percent: int | float | None
    at: datetime
    event: UUID


class Unit(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One traceable respirator, known by its tag."""

    unit: UUID
    tag: str
    model: str
    serial: str
    maker: str
    registered_at: datetime
    site: str
    size: str | None = None
    use: str = "routine"
    fitted_to: str | None = None
    made_on: date | None = None

    where: Where = "in-store"
    place: str | None = None
    holder: Holder | None = None
    moved_to: str | None = None
    at_service: str | None = None
    missing: bool = False
    retired: bool = False
    put_away: datetime | None = None
    last_wearer: Wearing | None = None
    first_issue: Evidence | None = None

    held: tuple[Cause, ...] = ()
    recheck: Evidence | None = None
    failing: UUID | None = None
    failures: tuple[Evidence, ...] = ()
    last_failure: datetime | None = None
    remedied: dict[str, datetime] = {}
    unresolved: tuple[UUID, ...] = ()
    components_out: tuple[UUID, ...] = ()

    examined: Evidence | None = None
    anchor: date | None = None
    repaired: datetime | None = None
    repaired_and_checked: datetime | None = None
    passings: tuple[Passing, ...] = ()

    cover: Cover | None = None
    breaches: tuple[Breach, ...] = ()
    wearing: Wearing | None = None
    counted: tuple[tuple[date, str], ...] = ()

    soiled_by: str | None = None
    cleaning_owed: Evidence | None = None

    parts: dict[str, Fitted] = {}
    charge: Charge | None = None
    capacity: Charge | None = None


def phase(unit: Unit) -> Phase:
    """Say where the unit is; where several could be said, the first of this order."""
    if unit.retired:
        return "retired"
    if unit.missing:
        return "missing"
    if unit.at_service is not None:
        return "at-service"
    if unit.moved_to is not None:
        return "in-transit"
    if unit.held:
        return "quarantined"
    return unit.where


def use_of(unit: Unit) -> str:
    """Give the use that duties go by: a stationed unit is judged as emergency use."""
    return "emergency" if unit.where == "stationed" and unit.use in {"routine", "occasional"} else unit.use
