"""A unit: everything its events have said so far, as values.

Every change gives a new value. Evidence carries the event it rests on, so that each verdict can name its ground. Only
what later facts can still turn on is kept: of grounds and failures the newest, never a whole history.
"""

from datetime import date, datetime
from typing import Literal
from uuid import UUID

import msgspec

from service.domain.holder import Holder
from service.domain.part import Part, PlacedPart

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


class Evidence(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A fact worth remembering: when it was and which event said it."""

    at: datetime
    event: UUID


class Dated(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A fact that an interval runs from: when it was, its calendar day where it was, and which event said it."""

    at: datetime
    on: date
    event: UUID


class WaitingUse(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A use that was set but does not bite before its event is received."""

    event: UUID
    use: str


class Wearing(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """Who breathed through the unit, and from when; `until` where the end is known.

    `counted` says that it is a use of the summary, `covered` that a check covers it now, `lapse` when it first lacked
    cover.
    """

    person: str
    at: datetime
    event: UUID
    until: datetime | None = None
    counted: bool = False
    covered: bool = False
    lapse: datetime | None = None


class Cause(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """One ground for being withdrawn: the reason, the fact, and the recall it belongs to."""

    reason: str
    at: datetime
    event: UUID
    recall: str | None = None


class Remedy(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """What was done about a recall: when it counts, and by when something had to be in to be meant.

    Of a day alone it counts at the end, and what was put in meanwhile may have come after it.
    """

    at: datetime
    by: datetime

    def covers(self, other: "Remedy") -> bool:
        """Say whether it clears all that another clears."""
        return self.at >= other.at and self.by >= other.by


class Cover(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """What a complete passing check allows: use by `wearer` up to `until`.

    `paused` is true between a battery swap and the points that restore the rest.
    """

    event: UUID
    wearer: str
    since: datetime
    until: datetime
    paused: bool = False


class Breach(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A use outside cover, open until a check for that wearer (any wearer's, if no person is known) or the return."""

    since: datetime
    person: str | None
    reason: str
    event: UUID | None


class Counted(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A use that was counted by the calendar: the site's working day and shift, and when that shift is over."""

    site: str
    day: date
    shift: str
    until: datetime


class Opening(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """When a part was first used since it was fitted, and the calendar day where that was."""

    at: datetime
    on: date


class Fitted(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """What sits in a position: the part (None: emptied), since when, and its first use since.

    `uses_before` and `worn_before` are what the unit had served by then (see `Unit`). `was_there` says that it sat
    there before anything was said of the position; `named_at` is when it was last said to be another than was known.
    `took_out` is what was there until then, where that was said as it was taken out. `day` is the beginning of the day,
    where it was put in on one that alone was said. `nth` is how many things were put in there before at that instant.
    """

    part: Part | None
    at: datetime
    on: date
    event: UUID
    used: Opening | None = None
    uses_before: int = 0
    worn_before: int = 0
    was_there: bool = False
    named_at: datetime | None = None
    took_out: Part | None = None
    day: datetime | None = None
    nth: int = 0


class Loading(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """The last reading of a filter's loading, on the model's scale."""

    level: int
    at: datetime
    event: UUID


class Charge(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A battery reading in percent; `percent` is None after a swap until it is read."""

    percent: int | float | None
    at: datetime
    event: UUID


class Unit(msgspec.Struct, gc=False, frozen=True, kw_only=True, array_like=True):
    """One traceable respirator, known by its tag. `uses` and `worn` (microseconds) are all it ever served.

    By recall: `remedied` is the newest ground for release, `fixed` and `not_affected` what was done about it.
    `forgiven` are the openings of recalls that a release on their voiding left out of account, and `recalled` those
    recalls that spoke of something in it which is there no more, or known to be another. `stated` is what its first
    registration will say of its parts, as long as facts from before that are folded. `began` is the first that
    anything is told of it, its registration or before, which states its day alone if it is `by_day`; `former` are other
    models that it was registered as, and `made_once` and `acquired_once` other days that registrations gave.
    """

    unit: UUID
    tag: str
    model: str
    serial: str
    maker: str
    registered_at: datetime
    site: str
    size: str | None = None
    use: str = "routine"
    uses_waiting: tuple[WaitingUse, ...] = ()
    fitted_to: str | None = None
    made_on: date | None = None
    acquired_on: date | None = None

    where: Where = "in-store"
    placed_at: datetime | None = None
    place: str | None = None
    holder: Holder | None = None
    moved_to: str | None = None
    at_service: str | None = None
    missing: bool = False
    retired: bool = False
    last_wearer: Wearing | None = None
    first_issue: Dated | None = None

    held: tuple[Cause, ...] = ()
    recheck: Evidence | None = None
    failing: tuple[UUID, ...] = ()
    failures: tuple[Evidence, ...] = ()
    failed: tuple[Evidence, ...] = ()
    remedied: dict[str, datetime] = {}
    fixed: dict[str, tuple[Remedy, ...]] = {}
    not_affected: dict[str, tuple[Remedy, ...]] = {}
    forgiven: tuple[UUID, ...] = ()
    unresolved: tuple[UUID, ...] = ()
    components: dict[str, tuple[str, ...]] = {}

    examined: Dated | None = None
    repaired: tuple[datetime, ...] = ()
    repaired_and_checked: datetime | None = None
    passings: dict[str, datetime] = {}

    cover: Cover | None = None
    breaches: tuple[Breach, ...] = ()
    wearings: tuple[Wearing, ...] = ()
    counted: tuple[Counted, ...] = ()

    soiled_by: str | None = None
    cleaning_owed: Evidence | None = None

    uses: int = 0
    worn: int = 0
    parts: dict[str, Fitted] = {}
    loadings: dict[str, Loading] = {}
    charge: Charge | None = None
    capacity: Charge | None = None

    began: datetime | None = None
    former: tuple[str, ...] = ()
    made_once: tuple[date, ...] = ()
    acquired_once: tuple[date, ...] = ()
    by_day: bool = False
    recalled: tuple[str, ...] = ()
    stated: tuple[PlacedPart, ...] = ()

    @property
    def several(self) -> bool:
        """Say whether its registrations contradict each other: which of them is wrong nobody says."""
        return bool(self.former or self.made_once or self.acquired_once)

    @property
    def models(self) -> tuple[str, ...]:
        """Name the model and those it was registered as before."""
        return (self.model, *self.former)

    @property
    def beginning(self) -> datetime:
        """Give the moment it is first told of: before its registration where earlier facts are known."""
        return self.registered_at if self.began is None else self.began


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


def put_away(unit: Unit) -> datetime | None:
    """Give the instant since which a withdrawn unit is in nobody's hands; None where it is not so."""
    if phase(unit) != "quarantined" or unit.where != "in-store":
        return None
    withdrawn = min(cause.at for cause in unit.held)
    return withdrawn if unit.placed_at is None else max(withdrawn, unit.placed_at)


def use_of(unit: Unit) -> str:
    """Give the use that duties go by: a stationed unit is judged as emergency use."""
    return "emergency" if unit.where == "stationed" else unit.use
